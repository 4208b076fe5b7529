"""Inch variable-speed belts: 1922V282 is 19/16 in wide, 22 degrees, 28.2 in long.

Four figures, V, three or four figures: top width in sixteenths of an inch, sheave angle in degrees,
pitch length in tenths of an inch. Issued as ANSI/RMA (now ARPM) IP-25. That 1922V belongs to a 22 degree
series is published; the units of width and length and the list of sections are from memory.

Good: ``1922 v 282``. Refused: ``5VX850``, a narrow belt of another family.
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean_numbers
from kb.notation.reading import Flag, Notation, Reading
from kb.terms import LengthKind, Refusal
from kb.units import convert_inch_to_mm

LISTED_SECTIONS = frozenset(
    {1422, 1922, 2322, 1926, 2926, 3226, 2530, 3230, 4430, 4036, 4436, 4836},
)

_BELT_INCH = Notation("Inch belt", "write four figures, V, then three or four figures, for example 1922V282")


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltInchReading(Reading):
    """An inch variable-speed belt; its length is always the pitch length."""

    kind: ClassVar[str] = "belt_inch"
    top_width_sixteenths: int
    top_width_mm: float
    angle_deg: int
    pitch_length_in: float
    length_mm: float
    length_kind: LengthKind = LengthKind.PITCH


def parse_belt_inch(text: str) -> BeltInchReading:
    """Inch variable-speed belt in a text.

    Raises:
        BadNotation: not such a belt; ``reason`` says why.

    Example:
        >>> parse_belt_inch("1922V282").length_mm
        716.28
    """
    cleaned = clean_numbers(text, _BELT_INCH)
    found = re.fullmatch(r"([0-9]{2})([0-9]{2}) ?V ?([0-9]{3,4})", cleaned.text.upper())
    if found is None:
        raise _BELT_INCH.refuse(text, "is not of that form", reason=Refusal.NOT_RECOGNISED)
    sixteenths, angle_deg, tenths = (int(group) for group in found.groups())
    if 0 in (sixteenths, angle_deg, tenths):
        raise _BELT_INCH.refuse(text, "has a size of zero", reason=Refusal.OUT_OF_RANGE)
    is_listed = int(found[1] + found[2]) in LISTED_SECTIONS
    return BeltInchReading(
        top_width_sixteenths=sixteenths,
        top_width_mm=round(sixteenths * 25.4 / 16, 2),
        angle_deg=angle_deg,
        pitch_length_in=tenths / 10,
        length_mm=round(convert_inch_to_mm(tenths / 10), 2),
        flags=cleaned.flags if is_listed else cleaned.flags | {Flag.SECTION_NOT_LISTED},
        raw=text,
    )


def format_belt_inch(reading: BeltInchReading) -> str:
    """The one spelling, without blanks.

    Example:
        >>> format_belt_inch(parse_belt_inch("1922 v 282"))
        '1922V282'
    """
    tenths = round(reading.pitch_length_in * 10)
    return f"{reading.top_width_sixteenths:02d}{reading.angle_deg:02d}V{tenths:03d}"
