"""A pasted note taken apart into all the codes that it holds.

A customer's message mixes words, sizes, a stamped code and a part number. Each stretch that a notation
can read is given with its place in the text. Where only the words decide what three numbers are ("seal
20x35x7"), the nearest word before or after them is asked. What looks like a code but can't be read is
given with the reason; nothing is filled in.

Source: words and order of the attempts are judgement of this project.

Example:
    >>> [(part.text, part.kind) for part in split_note("belt says 743 20 30, rollers 16x13 7 g")]
    [('743 20 30', 'belt'), ('16x13 7 g', 'roller')]
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from kb.notation.read import AUTO, read_as_json
from kb.rules.match.note_codes import (
    PART_NUMBER,
    is_date,
    is_no_code,
    is_number_prefix,
    is_too_long_for_sizes,
    read_electric,
    read_part_number,
)
from kb.rules.match.phrases import stem_word
from kb.terms import Refusal

NOTE_LIMIT = 4_000
"""Characters of a note that are read."""
UNREAD = "unread"

_LONGEST = 8
_MOST_TRIES = 960
"""Stretches tried in one note; a page full of figures is read in shorter ones."""
_HINT_REACH = 5
_CHUNK = re.compile(r"\S+")
_EDGES = "\"'“”„‘’()[]{}<>.,;:!?"
_ENDS = tuple(".;!?")
_BY = re.compile(r"\s+by\s+", re.IGNORECASE)
_SCAN = re.compile(r"\][A-Za-z][0-9].+|\(01\)[0-9].+")
_DOTS = re.compile(r"(?<=[0-9])\.\.(?=[0-9])")
_NO_SIZE_YET = re.compile(r"[^x*/]*")
_LINK_TEXT = """
    x by - to ~ ± +/- / * g gr gm gram grams kg mm deg ° lh rh n.m nm n·m n-m ft lb in ft-lb lb-ft lbf-ft
    ft.lb lbf.ft lbf·ft n⋅m kgf kgf-m kgf.m kgf.cm kgf-cm in-lb newton metre metres tl tt m/c pcs pc pieces
    of la lp li rpm r/min set v volt volts w watt watts ah
"""
_LINKS = frozenset(_LINK_TEXT.split())
_STARTS = frozenset({"set", "m", "w", "hk"})
_HINTS = {
    "belt": "belt",
    "roller": "roller",
    "weight": "roller",
    "seal": "seal",
    "bearing": "bearing",
    "oring": "oring",
    "o-ring": "oring",
    "spring": "spring",
    "tyre": "tyre",
    "tire": "tyre",
    "torque": "torque",
    "tighten": "torque",
    "engine": "engine",
    "thread": "thread",
    "nut": "thread",
    "bolt": "thread",
    "barcode": "gtin",
    "ean": "gtin",
}
_TELLING = frozenset(
    {
        Refusal.AMBIGUOUS_KIND,
        Refusal.AMBIGUOUS_SEPARATOR,
        Refusal.CONTRADICTORY,
        Refusal.REVERSED_RANGE,
        Refusal.UNKNOWN_CLASS_LETTER,
        Refusal.UNKNOWN_COOLING_LETTER,
        Refusal.NOT_MOTORCYCLE,
        Refusal.INCH_THREAD,
    }
)


class NotePart(NamedTuple):
    """A stretch of the note: its place, what kind of code it is, its reading, and the stretch itself."""

    span: tuple[int, int]
    kind: str
    reading: dict[str, Any]
    text: str


@dataclass(frozen=True, slots=True)
class _Chunk:
    """What stands between blanks, without the marks around it."""

    start: int
    end: int
    text: str
    is_last: bool
    whole: str = ""

    @property
    def has_digit(self) -> bool:
        return any(map(str.isdecimal, self.text))


def _list_chunks(note: str) -> list[_Chunk]:
    chunks = []
    for found in _CHUNK.finditer(note):
        whole = found.group()
        text = whole.strip(_EDGES)
        if whole in ("-", "x", "±", "~") or text:
            text = text or whole
            start = found.start() + whole.index(text)
            chunks.append(_Chunk(start, start + len(text), text, whole.rstrip("\"')").endswith(_ENDS), whole))
    return chunks


def _choose_longest(chunks: list[_Chunk]) -> int:
    """Chunks that a stretch may have, the fewer the more of the note are figures."""
    figures = sum(chunk.has_digit for chunk in chunks)
    return min(_LONGEST, max(2, _MOST_TRIES // max(1, figures)))


def _list_windows(chunks: list[_Chunk], at: int, longest: int) -> Iterator[int]:
    """Ends of the stretches that may be one code starting at a chunk, the longest first."""
    first = chunks[at]
    if is_date(first.text) or (not first.has_digit and first.text.lower() not in _STARTS):
        return
    ends = []
    for end in range(at + 1, min(at + longest, len(chunks)) + 1):
        last = chunks[end - 1]
        if not last.has_digit and last.text.lower() not in _LINKS | _STARTS:
            break
        ends.append(end)
        if last.is_last:
            break
    yield from reversed(ends)


def _find_hint(chunks: list[_Chunk], at: int, end: int) -> str | None:
    """Kind that the nearest word before (else right after) a stretch speaks of."""
    for place in range(at - 1, max(-1, at - 1 - _HINT_REACH), -1):
        if chunks[place].is_last:
            break
        kind = _get_hint(chunks, place)
        if kind:
            return kind
    return _get_hint(chunks, end) if end < len(chunks) and not chunks[end - 1].is_last else None


def _get_hint(chunks: list[_Chunk], at: int) -> str | None:
    word = stem_word(chunks[at].text.lower())
    if word == "ring" and at and chunks[at - 1].text.lower() == "o":
        return "oring"
    return _HINTS.get(word)


def _read_stretch(text: str, hint: str | None) -> dict[str, Any]:
    """Reading of a stretch by its form, else as the kind that the words around it speak of."""
    plain = _DOTS.sub("-", _BY.sub(" x ", text))
    electric = read_electric(plain)
    reading = electric or read_as_json(plain)
    if reading["ok"] or hint is None:
        return reading
    if hint == "thread" and _NO_SIZE_YET.fullmatch(plain):
        return reading  # "nut 17 mm" is the width across flats
    hinted = read_as_json(plain, hint)
    return {"ok": True, "kind": hint, **hinted} if hinted["ok"] else reading


def _read_from(note: str, chunks: list[_Chunk], at: int, *, longest: int) -> tuple[int, NotePart] | None:
    """The longest stretch that can be read from a chunk on, with the place behind it."""
    chunk = chunks[at]
    if _SCAN.fullmatch(chunk.whole):
        return _read_scan(note, chunk, at)
    refused: tuple[int, NotePart] | None = None
    for end in _list_windows(chunks, at, longest):
        span = (chunk.start, chunks[end - 1].end)
        text = note[span[0] : span[1]]
        if _is_other(chunks, at, end, text):
            continue
        reading = _read_stretch(text, _find_hint(chunks, at, end))
        if reading["ok"]:
            return end, NotePart(span, str(reading["kind"]), reading, text)
        if refused is None and reading["reason"] in _TELLING and not is_too_long_for_sizes(text):
            refused = end, NotePart(span, UNREAD, reading, text)
    return refused or _read_number(note, chunks, at)


def _is_other(chunks: list[_Chunk], at: int, end: int, text: str) -> bool:
    """Whether the words beside a stretch say that it is no code."""
    before = chunks[at - 1].text if at else ""
    after = chunks[end].text if end < len(chunks) else ""
    return is_no_code(text, before, after)


def _read_scan(note: str, chunk: _Chunk, at: int) -> tuple[int, NotePart]:
    """A stretch as a scanner sends it, or as it is printed beside a bar code."""
    reading = read_as_json(chunk.whole, "gtin")
    start = note.index(chunk.whole, max(0, chunk.start - len(chunk.whole)))
    kind = "gtin" if reading["ok"] else UNREAD
    return at + 1, NotePart((start, start + len(chunk.whole)), kind, {**reading, "kind": kind}, chunk.whole)


def _read_number(note: str, chunks: list[_Chunk], at: int) -> tuple[int, NotePart] | None:
    """A stretch that looks like a part number, with the capitals that a blank parts from it."""
    chunk = chunks[at]
    following = chunks[at + 1] if at + 1 < len(chunks) and not chunk.is_last else None
    if following and is_number_prefix(chunk.text, following.text):
        text = note[chunk.start : following.end]
        reading = None if read_as_json(following.text)["ok"] else read_part_number(text)
        if reading:
            return at + 2, NotePart((chunk.start, following.end), str(reading["kind"]), reading, text)
    reading = read_part_number(chunk.text) if chunk.has_digit else None
    if reading is None or _is_other(chunks, at, at + 1, chunk.text):
        return None
    return at + 1, NotePart((chunk.start, chunk.end), str(reading["kind"]), reading, chunk.text)


def read_text(text: str, kind: str = AUTO) -> dict[str, Any]:
    """Reading of a text as one code or, for a note, with every code that it holds under ``codes``.

    A text that is one code has no list beside it; one that is given its kind is read as one code.

    Example:
        >>> answer = read_text("belt says 743 20 30, rollers 16x13 7 g")
        >>> answer["ok"], [code["kind"] for code in answer["codes"]]
        (False, ['belt', 'roller'])
    """
    reading = read_as_json(text[:NOTE_LIMIT], kind)
    if reading["ok"] or kind != AUTO:
        return reading
    codes: list[dict[str, Any]] = [
        {
            "text": part.text,
            "start": part.span[0],
            "end": part.span[1],
            "kind": part.kind,
            "reading": part.reading,
        }
        for part in split_note(text)
    ]
    return {**reading, "codes": codes} if _is_note(codes, text.strip()) else reading


def _is_note(codes: list[dict[str, Any]], text: str) -> bool:
    is_whole = len(codes) == 1 and codes[0]["kind"] == PART_NUMBER and codes[0]["text"] == text
    return not is_whole and is_note({"codes": codes})


def is_note(answer: dict[str, Any]) -> bool:
    """Whether a text that is no single code holds codes among words, or several part numbers and sizes.

    A text that only looks like a part number makes no note: it is the refused code itself.

    Example:
        >>> is_note(read_text("belt says 743 20 30")), is_note(read_text("788-17-28-8-3"))
        (True, False)
    """
    return any(code["reading"]["ok"] for code in answer.get("codes", ()))


def split_note(text: str) -> tuple[NotePart, ...]:
    """All codes in a note, in their order, each with its place, kind and reading.

    Args:
        text: anything pasted or typed; cut at 4,000 characters.

    Returns:
        Parts that do not overlap. ``kind`` is a kind of ``kb.notation.read``, ``part_number`` for what
        looks like a part number, or ``unread`` with the reason in ``reading``.
    """
    note = text[:NOTE_LIMIT]
    chunks = _list_chunks(note)
    parts: list[NotePart] = []
    longest = _choose_longest(chunks)
    at = 0
    while at < len(chunks):
        found = _read_from(note, chunks, at, longest=longest)
        if found is None:
            at += 1
        else:
            at = found[0]
            parts.append(found[1])
    return tuple(parts)
