"""What a person's text means: a part of the catalogue, or a size.

Tried in this order: a whole part number as written, a maker's name followed by a part number, an
article number (GTIN), a size in the notation of the position, a part number by its letters and digits, and
last the look-up, whose answer is taken only when exactly one part is surely the one described.
Words before a size are passed over only when the trade knows one of them ("belt 743-20-30"); otherwise they
are taken for a maker. A maker who is named but has no such part is an error: the size is not asked instead.
"""

from dataclasses import dataclass, replace

from sqlmodel import Session

from kb.errors import BadInput, BadNotation, NotFound
from kb.lookups.parts import (
    StoredPart,
    find_maker,
    find_nearest_numbers,
    find_parts_by_gtin,
    find_parts_by_number,
    get_part,
    refuse_maker,
)
from kb.lookups.typed_text import clean_typed
from kb.notation.gtin import parse_gtin
from kb.notation.maker import build_maker_key
from kb.notation.read import read_code
from kb.notation.reading import Reading, show_text
from kb.rules.fit.reading_size import KINDS_OF_POSITION, build_sizes, list_positions_of_kind
from kb.rules.fit.values import Asked
from kb.standards.trade_words import list_trade_words
from kb.terms import Certainty, PartType, Position, Refusal


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a text may mean.

    Attributes:
        parts: parts of the catalogue; several when makers share the number.
        sizes: sizes; several when the text can be read in more than one way.
        positions: where a size could sit, when no position was given.
    """

    parts: tuple[StoredPart, ...] = ()
    sizes: tuple[Asked, ...] = ()
    positions: tuple[Position, ...] = ()


def find_meaning(session: Session, text: str, position: Position | None) -> Meaning:
    """What the text asks about.

    Raises:
        NotFound: a known maker has no such part, or no such maker is known.
        BadNotation: it is no part number in the catalogue and no size that can be read.
        BadInput: the text is empty or too long, or reads as something that is no part.
    """
    typed, text = text, clean_typed(text)
    exact = [part for part in find_parts_by_number(session, text) if part.ref.part_number == text]
    found = exact or _find_with_maker(session, text) or _find_by_gtin(session, typed)
    if found:
        return Meaning(parts=tuple(found))
    try:
        return _read_size(session, text, position)
    except (BadNotation, BadInput, NotFound) as error:
        by_key = [] if isinstance(error, NotFound) else find_parts_by_number(session, text)
        described = None if by_key or _is_bare_size(text) else _find_described(session, typed)
        if described is not None:
            return Meaning(parts=(described,))
        if by_key:
            return Meaning(parts=tuple(by_key))
        if isinstance(error, NotFound):
            raise
        raise _explain_refusal(session, text, error) from error


def _is_bare_size(text: str) -> bool:
    """Whether a text is the size of some part and no more, so that no other part is meant by it."""
    try:
        return bool(list_positions_of_kind(read_code(text, "auto")))
    except BadNotation:
        return False


def _find_described(session: Session, text: str) -> StoredPart | None:
    """The one part that a free text surely describes; every word of it has to be understood and met."""
    # Imported here: most questions name a part or a size, and never come to the look-up.
    from kb.lookups.search.find import find_matches  # noqa: PLC0415

    answer = find_matches(session, text, 2)
    sure = [item for item in answer.results if item.certainty is Certainty.SURE]
    if len(sure) != 1 or answer.read_as.fields.get("not_understood"):
        return None
    row = sure[0].row
    if row.maker is None or row.part_number is None:
        return None
    if sure[0].differs and answer.read_as.kind != "part_number":
        return None
    named = _split_maker(session, clean_typed(text))
    if named is not None and named[0] != build_maker_key(row.maker):
        return None
    return get_part(session, row.maker, row.part_number)


def _split_maker(session: Session, text: str) -> tuple[str, str] | None:
    """Maker's key and the rest of the text, where the text begins with a known maker."""
    words = text.replace(":", " ").split()
    for count in range(min(len(words) - 1, 5), 0, -1):
        known = find_maker(session, " ".join(words[:count]))
        if known is not None:
            return known[1], " ".join(words[count:])
    return None


def _find_with_maker(session: Session, text: str) -> list[StoredPart]:
    split = _split_maker(session, text)
    return find_parts_by_number(session, split[1], maker_key=split[0]) if split else []


def _find_by_gtin(session: Session, text: str) -> list[StoredPart]:
    if sum(character.isdigit() for character in text) < 8:
        return []
    try:
        return find_parts_by_gtin(session, parse_gtin(text).gtin14)
    except BadNotation:
        return []


def _read_size(session: Session, text: str, position: Position | None) -> Meaning:
    reading, cautions = _read(session, text, position)
    positions = (position,) if position else list_positions_of_kind(reading)
    if not positions:
        raise BadInput(
            f"'{show_text(text)}' reads as {reading.kind.replace('_', ' ')}, which is no part of the drive; "
            "write a maker and part number or a size such as 743-20-30.",
            field="asked",
        )
    sizes = build_sizes(reading, text)
    return Meaning(
        sizes=tuple(replace(size, cautions=(*cautions, *size.cautions)) for size in sizes),
        positions=positions,
    )


def _read(session: Session, text: str, position: Position | None) -> tuple[Reading, tuple[str, ...]]:
    """Reading of the text, or of what follows its leading words, with a caution for words passed over."""
    words, rest = _split_words(text)
    try:
        return _read_as(text, position), ()
    except BadNotation as error:
        if words:
            unknown = _refuse_unless_trade_words(session, words, rest)
            if rest:
                return _read_rest(rest, position, error), unknown
        raise


def _read_rest(rest: str, position: Position | None, first: BadNotation) -> Reading:
    try:
        return _read_as(rest, position)
    except BadNotation as error:
        telling = error.reason not in (Refusal.NOT_RECOGNISED, Refusal.EMPTY)
        raise (error if telling else first) from None


def _read_as(text: str, position: Position | None) -> Reading:
    if position is None:
        return read_code(text, "auto")
    kinds = KINDS_OF_POSITION.get(position, ())
    if not kinds:
        words = position.replace("_", " ")
        raise BadInput(
            f"Parts at the position {words} are judged by fit records only; write a maker and part number, "
            f"not '{show_text(text)}'.",
            field="asked",
        )
    errors = []
    for kind in kinds:
        try:
            return read_code(text, kind)
        except BadNotation as error:
            errors.append(error)
    raise errors[0]


def _split_words(text: str) -> tuple[list[str], str]:
    """Words in front that hold no digit, such as "drive belt", and the rest."""
    words = text.split()
    start = next((place for place, word in enumerate(words) if any(map(str.isdigit, word))), len(words))
    return words[:start], " ".join(words[start:])


def _refuse_unless_trade_words(session: Session, words: list[str], rest: str) -> tuple[str, ...]:
    """A caution that names the leading words that were passed over; none where the trade knows them all.

    Raises:
        NotFound: the words are a maker who has no such part, or no word of the trade and so an unknown maker.
    """
    text = " ".join([*words, rest])
    split = _split_maker(session, text)
    if split is not None:
        get_part(session, split[0], split[1])  # refuses: with the part in the catalogue nobody comes here
    known = _list_known_words()
    unknown = [word for word in words if word.casefold().strip(".,:;") not in known]
    if not rest:
        return ()
    if len(unknown) == len(words):
        raise refuse_maker(session, " ".join(words))
    return (f"Not used for the answer: '{show_text(' '.join(unknown))}'.",) if unknown else ()


def _list_known_words() -> frozenset[str]:
    names = [name for _, name in list_trade_words()]
    names += [word.replace("_", " ") for word in (*PartType, *Position)]
    singular = {word for name in names for word in name.casefold().split()}
    return frozenset(singular | {f"{word}s" for word in singular})


def _explain_refusal(
    session: Session, text: str, error: BadNotation | BadInput
) -> BadNotation | BadInput | NotFound:
    nearest = find_nearest_numbers(session, text)
    hint = f" Part numbers near it: {', '.join(nearest)}." if nearest else ""
    if isinstance(error, BadNotation) and error.reason == Refusal.AMBIGUOUS_KIND:
        hint = f" Say at which position it is to sit, such as rollers or torque_driver_seal.{hint}"
    message = (
        f"'{show_text(text)}' is no part number of the catalogue and no size that can be read. {error}{hint}"
    )
    if isinstance(error, BadNotation):
        return BadNotation(message, reason=error.reason)
    return BadInput(message, field="asked")
