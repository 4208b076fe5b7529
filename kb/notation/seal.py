"""Oil seal sizes as moulded into the lip side: 20x35x7, TC 20 35 7.

Shaft, housing and width in mm, sometimes with type letters, which are a habit of the trade and are kept
as text. Issued as ISO 6194 (from memory). The largest number is read as the housing, the smallest as the
width (judgement of this project). A bearing can have the same three numbers.

Good: ``35x20x7`` (housing first). Refused: ``20x20x7`` (no room for a lip).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.terms import Refusal

LARGEST_MM = 500.0

_SEAL = Notation("Oil seal size", "write shaft x housing x width in mm, for example 20x35x7")
_LETTERS = r"(?:[A-WYZ]{1,4})"


@dataclass(frozen=True, slots=True, kw_only=True)
class SealReading(Reading):
    """An oil seal; ``bore_mm`` is the housing that it is pressed into."""

    kind: ClassVar[str] = "seal"
    shaft_mm: float
    bore_mm: float
    width_mm: float
    type: str | None = None


def parse_seal(text: str) -> SealReading:
    """Oil seal in a text.

    Raises:
        BadNotation: not an oil seal size; ``reason`` says why.

    Example:
        >>> parse_seal("TC 20 35 7").bore_mm
        35.0
    """
    cleaned = clean_numbers(text, _SEAL)
    plain = re.sub(r"(?<=[0-9]) ?MM", "", cleaned.text.upper())
    sizes = rf"{NUMBER}(?:(?: ?[-X/;,] ?| ){NUMBER})*"
    found = re.fullmatch(rf"({_LETTERS})?(?: ?- ?| )?({sizes})(?:(?: ?- ?| )?({_LETTERS}))?", plain)
    if found is None or has_lost_number(plain, "-X/;,") or (found[1] and found[3]):
        problem = "is not three sizes with type letters before or after them"
        raise _SEAL.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    values = [parse_number(token) for token in re.findall(NUMBER, found[2])]
    if len(values) != 3:
        reason = Refusal.TOO_FEW_NUMBERS if len(values) < 3 else Refusal.TOO_MANY_NUMBERS
        raise _SEAL.refuse(text, f"needs three sizes and has {len(values)}", reason=reason)
    width_mm, shaft_mm, bore_mm = sorted(values)
    if width_mm <= 0 or shaft_mm == bore_mm or bore_mm > LARGEST_MM:
        problem = f"needs a width above 0, and a housing above the shaft and at most {LARGEST_MM:g} mm"
        raise _SEAL.refuse(text, problem, reason=Refusal.OUT_OF_RANGE)
    is_reordered = values != [shaft_mm, bore_mm, width_mm]
    return SealReading(
        shaft_mm=shaft_mm,
        bore_mm=bore_mm,
        width_mm=width_mm,
        type=found[1] or found[3],
        flags=cleaned.flags | {Flag.REORDERED} if is_reordered else cleaned.flags,
        raw=text,
    )


def format_seal(reading: SealReading) -> str:
    """The one spelling: type letters, then shaft x housing x width.

    Example:
        >>> format_seal(parse_seal("35-20-7 tc"))
        'TC 20x35x7'
    """
    sizes = (reading.shaft_mm, reading.bore_mm, reading.width_mm)
    size = "x".join(format_number(value) for value in sizes)
    return f"{reading.type} {size}" if reading.type else size
