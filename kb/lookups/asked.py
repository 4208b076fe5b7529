"""What a person's text means: a part of the catalogue, or a size.

Tried in this order: a whole part number as written, a maker's name followed by a part number, an
article number (GTIN), a size in the notation of the position, a part number by its letters and digits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from sqlmodel import Session

from kb.errors import BadInput, BadNotation, NotFound
from kb.lookups.parts import (
    StoredPart,
    find_maker,
    find_nearest_numbers,
    find_parts_by_gtin,
    find_parts_by_number,
    get_part,
)
from kb.notation.belt import list_belt_readings
from kb.notation.gtin import parse_gtin
from kb.notation.read import read_code
from kb.notation.reading import Reading
from kb.rules.fit.reading_size import KINDS_OF_POSITION, build_size, list_positions_of_kind
from kb.rules.fit.values import Asked
from kb.terms import POSITIONS_OF_PART_TYPE, Position

MAX_TEXT = 200


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a text may mean.

    Attributes:
        parts: parts of the catalogue; several when makers share the number.
        sizes: sizes; several when the text can be read in more than one way.
        positions: where what was asked about could sit, when no position was given.
    """

    parts: tuple[StoredPart, ...] = ()
    sizes: tuple[Asked, ...] = ()
    positions: tuple[Position, ...] = field(default=())


def find_meaning(session: Session, text: str, position: Position | None) -> Meaning:
    """What the text asks about.

    Raises:
        NotFound: a known maker has no such part.
        BadNotation: it is no part number in the catalogue and no size that can be read.
        BadInput: the text is empty, or reads as something that is no part.
    """
    text = " ".join(text.split())[:MAX_TEXT]
    if not text:
        raise BadInput("Nothing was asked about; write a maker and part number or a size such as 743-20-30.")
    exact = [part for part in find_parts_by_number(session, text) if part.ref.part_number == text]
    found = exact or _find_with_maker(session, text) or _find_by_gtin(session, text)
    if found:
        return _mean_parts(found)
    try:
        return _read_size(text, position)
    except (BadNotation, BadInput) as error:
        by_key = find_parts_by_number(session, text)
        if by_key:
            return _mean_parts(by_key)
        _refuse_known_maker(session, text)
        raise _explain_refusal(session, text, error) from error


def _mean_parts(parts: Sequence[StoredPart]) -> Meaning:
    types = dict.fromkeys(part.ref.part_type for part in parts if part.ref.part_type)
    positions = [position for part_type in types for position in POSITIONS_OF_PART_TYPE[part_type]]
    return Meaning(parts=tuple(parts), positions=tuple(positions))


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


def _refuse_known_maker(session: Session, text: str) -> None:
    split = _split_maker(session, text)
    if split is not None:
        get_part(session, split[0], split[1])


def _find_by_gtin(session: Session, text: str) -> list[StoredPart]:
    if sum(character.isdigit() for character in text) < 8:
        return []
    try:
        return find_parts_by_gtin(session, parse_gtin(text).gtin14)
    except BadNotation:
        return []


def _read_size(text: str, position: Position | None) -> Meaning:
    reading = _read_for_position(text, position) if position else _read_anywhere(text)
    if reading.kind == "belt":
        readings: Sequence[Reading] = list_belt_readings(_strip_words(text, reading))
    else:
        readings = (reading,)
    sizes = tuple(build_size(item, text) for item in readings)
    positions = (position,) if position else list_positions_of_kind(reading)
    if not positions:
        raise BadInput(
            f"'{text}' reads as {reading.kind.replace('_', ' ')}, which is no part of the drive; "
            "write a maker and part number or a size such as 743-20-30."
        )
    return Meaning(sizes=sizes, positions=positions)


def _read_for_position(text: str, position: Position) -> Reading:
    kinds = KINDS_OF_POSITION.get(position, ())
    if not kinds:
        words = position.replace("_", " ")
        raise BadInput(
            f"A {words} is judged by fit records only; write a maker and part number, not '{text}'."
        )
    errors = []
    for spelling in (text, _drop_leading_words(text)):
        for kind in kinds:
            try:
                return read_code(spelling, kind)
            except BadNotation as error:
                errors.append(error)
    raise errors[0]


def _read_anywhere(text: str) -> Reading:
    try:
        return read_code(text, "auto")
    except BadNotation as error:
        shorter = _drop_leading_words(text)
        if shorter == text or not shorter:
            raise
        try:
            return read_code(shorter, "auto")
        except BadNotation:
            raise error from None


def _drop_leading_words(text: str) -> str:
    """The text without words in front that hold no digit, such as "belt" or "drive belt"."""
    words = text.split()
    start = next((place for place, word in enumerate(words) if any(map(str.isdigit, word))), len(words))
    return " ".join(words[start:])


def _strip_words(text: str, reading: Reading) -> str:
    try:
        if read_code(text, "belt") == reading:
            return text
    except BadNotation:
        pass
    return _drop_leading_words(text)


def _explain_refusal(
    session: Session, text: str, error: BadNotation | BadInput
) -> BadNotation | BadInput | NotFound:
    nearest = find_nearest_numbers(session, text)
    hint = f" Part numbers near it: {', '.join(nearest)}." if nearest else ""
    message = f"'{text[:80]}' is no part number of the catalogue and no size that can be read. {error}{hint}"
    if isinstance(error, BadNotation):
        return BadNotation(message, reason=error.reason)
    return BadInput(message, field="asked")
