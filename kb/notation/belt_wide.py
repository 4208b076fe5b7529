"""Wide V-belts of industrial speed changers: W25-800.

W with the reference width in mm, then the reference (pitch) length in mm. Issued as ISO 1604:1989
(title and edition published; the nine sections, in R10 steps, and the punctuation from memory). Scooter
belts are not made to it: a W-number on the counter is for another machine.

Good: ``W 31.5 x 1000``. Refused: ``W30-800`` (not one of the nine sections).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Notation, Reading, format_number, parse_number
from kb.terms import LengthKind, Refusal

REFERENCE_WIDTHS_MM = (16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0)

_BELT_WIDE = Notation(
    "Wide V-belt", "write W, the reference width, then the pitch length, for example W25-800"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltWideReading(Reading):
    """A wide V-belt; its length is always the pitch length."""

    kind: ClassVar[str] = "belt_wide"
    section: str
    ref_width_mm: float
    length_mm: float
    length_kind: LengthKind = LengthKind.PITCH


def parse_belt_wide(text: str) -> BeltWideReading:
    """Wide V-belt in a text.

    Raises:
        BadNotation: not such a belt; ``reason`` says why.

    Example:
        >>> parse_belt_wide("W 31.5 x 1000").section
        'W31.5'
    """
    cleaned = clean_numbers(text, _BELT_WIDE)
    plain = cleaned.text.upper()
    if has_lost_number(plain, "-X/;,"):
        problem = "has a separator without a number beside it"
        raise _BELT_WIDE.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    found = re.fullmatch(rf"W ?({NUMBER})((?:(?: ?[-X/;,] ?| ){NUMBER})*)(?: ?MM)?", plain)
    if found is None:
        problem = "is not W and two numbers"
        raise _BELT_WIDE.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    lengths = re.findall(NUMBER, found[2])
    if not lengths:
        raise _BELT_WIDE.refuse(text, "lacks the length", reason=Refusal.TOO_FEW_NUMBERS)
    if len(lengths) > 1:
        raise _BELT_WIDE.refuse(text, "has more than two numbers", reason=Refusal.TOO_MANY_NUMBERS)
    width_mm, length_mm = parse_number(found[1]), parse_number(lengths[0])
    if width_mm not in REFERENCE_WIDTHS_MM:
        known = ", ".join(f"W{format_number(w)}" for w in REFERENCE_WIDTHS_MM)
        problem = f"has the section W{format_number(width_mm)}, which is none of {known}"
        raise _BELT_WIDE.refuse(text, problem, reason=Refusal.UNKNOWN_SECTION)
    if length_mm <= width_mm:
        problem = "has a length that is not above its width"
        raise _BELT_WIDE.refuse(text, problem, reason=Refusal.OUT_OF_RANGE)
    return BeltWideReading(
        section=f"W{format_number(width_mm)}",
        ref_width_mm=width_mm,
        length_mm=length_mm,
        flags=cleaned.flags,
        raw=text,
    )


def format_belt_wide(reading: BeltWideReading) -> str:
    """The one spelling, section and length.

    Example:
        >>> format_belt_wide(parse_belt_wide("w31,5 1000"))
        'W31.5-1000'
    """
    return f"{reading.section}-{format_number(reading.length_mm)}"
