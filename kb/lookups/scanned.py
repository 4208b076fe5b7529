"""What a scanner read at a shelf: a part of the catalogue, or nothing that is known.

Nothing is guessed: a code counts for a part only when exactly one part carries it. A shelf label names its
part by the address of the part's page; it stands for the place on the shelf, not for a piece.
"""

import re
from dataclasses import dataclass
from urllib.parse import unquote, urlsplit

from sqlmodel import Session

from kb.errors import BadInput, BadNotation, NotFound
from kb.lookups.parts import (
    StoredPart,
    find_maker,
    find_parts_by_gtin,
    find_parts_by_number,
    get_part,
)
from kb.lookups.typed_text import clean_typed
from kb.notation.gtin import parse_gtin
from kb.notation.reading import show_text

LONGEST_CODE = 200
_MAKER_WORDS = 5
# ISO/IEC 15424 (from memory): a scanner may name the kind of code first, such as ]C0 for Code 128.
_SYMBOLOGY = re.compile(r"\A\][A-Za-z][0-9A-Za-z](?=.)")
_PART_PAGE = re.compile(r"/(?:parts|stock)/([^/]+)/(.+)")


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a code means: the part, or why none was taken, with the parts it may be.

    Attributes:
        code: the code as it is shown.
        part: the only part that carries it.
        is_label: whether it stands for a shelf and not for a piece.
        why: the sentence for the person when no part was taken.
        choices: the parts that carry it when there are several.
    """

    code: str
    part: StoredPart | None = None
    is_label: bool = False
    why: str = ""
    choices: tuple[StoredPart, ...] = ()


def find_scanned(session: Session, text: str) -> Scanned:
    """What was scanned or typed in its place.

    Args:
        session: a reader's session.
        text: what the scanner sent, with or without the prefix that names the kind of code.

    Raises:
        BadInput: the text is empty or longer than any code.
    """
    if len(text) > LONGEST_CODE:
        raise BadInput(f"The code has {len(text)} characters; at most {LONGEST_CODE} are read.", field="code")
    plain = clean_typed(_SYMBOLOGY.sub("", text.strip(" \t\r\n")))
    label = _find_labelled(session, plain)
    if label is not None:
        return label
    found = {part.id: part for part in [*_find_by_gtin(session, text), *_find_by_name(session, plain)]}
    if len(found) == 1:
        return Scanned(plain, next(iter(found.values())))
    if found:
        why = f"'{show_text(plain)}' is on {len(found)} parts; choose the one in your hand."
        return Scanned(plain, why=why, choices=tuple(found.values()))
    return Scanned(plain, why=_explain(text, plain))


def _find_labelled(session: Session, plain: str) -> Scanned | None:
    """The part whose page a shelf label names; None when the text is no such address."""
    named = _PART_PAGE.fullmatch(urlsplit(plain).path) if "/" in plain else None
    if named is None:
        return None
    maker, number = unquote(named[1]), unquote(named[2])
    try:
        return Scanned(plain, get_part(session, maker, number), is_label=True)
    except NotFound as error:
        return Scanned(plain, why=str(error))


def _find_by_gtin(session: Session, text: str) -> list[StoredPart]:
    try:
        return find_parts_by_gtin(session, parse_gtin(text).gtin14)
    except BadNotation:
        return []


def _find_by_name(session: Session, plain: str) -> list[StoredPart]:
    """Parts by number, or by the maker's name and the number behind it."""
    found = find_parts_by_number(session, plain)
    if found:
        return found
    words = plain.replace(":", " ").split()
    for count in range(min(len(words) - 1, _MAKER_WORDS), 0, -1):
        maker = find_maker(session, " ".join(words[:count]))
        if maker is not None:
            return find_parts_by_number(session, " ".join(words[count:]), maker_key=maker[1])
    return []


def _explain(text: str, plain: str) -> str:
    """Why a code is no part: a misread article number says so, anything else is not in the catalogue."""
    if re.fullmatch(r"[0-9]{8}|[0-9]{12,14}", plain):
        try:
            parse_gtin(text)
        except BadNotation as error:
            return f"{error} Scan it again."
        return f"No part carries the article number '{show_text(plain)}'."
    return f"'{show_text(plain)}' is no article number, part number or shelf label of the catalogue."
