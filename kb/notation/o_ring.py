"""O-rings: inside diameter x section, 15x2, or a code, AS568-013, P15.

Issued as ISO 3601 (sizes), AS568 (dash numbers), JIS B 2401 (series P and G); from memory. The smaller
number is the section. Nothing is said of the rubber.

Good: ``AS568-013``. Refused: ``15x2x3`` (an O-ring has two sizes).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import CleanText, clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.standards.o_rings import find_o_ring_dimensions
from kb.terms import Refusal

LARGEST_MM = 1000.0

_O_RING = Notation("O-ring", "write inside diameter x section in mm or a code, for example 15x2 or AS568-013")


@dataclass(frozen=True, slots=True, kw_only=True)
class ORingReading(Reading):
    """An O-ring. The sizes are None behind a code that the table does not list."""

    kind: ClassVar[str] = "oring"
    id_mm: float | None = None
    section_mm: float | None = None
    code: str | None = None


def _find_code(plain: str) -> str | None:
    if found := re.fullmatch(r"AS ?568A? ?-? ?([0-9]{3})", plain):
        return f"AS568-{found[1]}"
    if found := re.fullmatch(r"([PG]) ?-? ?([0-9]{1,3}(?:\.[0-9])?A?)", plain):
        return found[1] + found[2]
    return None


def _reading_of_code(code: str, cleaned: CleanText, raw: str) -> ORingReading:
    listed = find_o_ring_dimensions(code)
    if listed is None:
        return ORingReading(code=code, flags=cleaned.flags | {Flag.DIMENSIONS_NOT_IN_TABLE}, raw=raw)
    return ORingReading(
        code=code, id_mm=listed.id_mm, section_mm=listed.section_mm, flags=cleaned.flags, raw=raw
    )


def parse_o_ring(text: str) -> ORingReading:
    """O-ring in a text.

    Raises:
        BadNotation: not an O-ring; ``reason`` says why.

    Example:
        >>> parse_o_ring("P15").id_mm, parse_o_ring("2x15").section_mm
        (14.8, 2.0)
    """
    cleaned = clean_numbers(text, _O_RING)
    plain = re.sub(r"(?<=[0-9]) ?MM", "", cleaned.text.upper())
    code = _find_code(plain)
    if code:
        return _reading_of_code(code, cleaned, text)
    is_sizes = re.fullmatch(rf"{NUMBER}(?:(?: ?[-X/;,] ?| ){NUMBER})*", plain) is not None
    if not is_sizes or has_lost_number(plain, "-X/;,"):
        problem = "is neither two sizes nor a known form of code"
        raise _O_RING.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    values = [parse_number(token) for token in re.findall(NUMBER, plain)]
    if len(values) != 2:
        reason = Refusal.TOO_FEW_NUMBERS if len(values) < 2 else Refusal.TOO_MANY_NUMBERS
        raise _O_RING.refuse(text, f"needs two sizes and has {len(values)}", reason=reason)
    section_mm, id_mm = sorted(values)
    if not 0 < section_mm < id_mm <= LARGEST_MM:
        problem = f"needs a section above 0 and below the inside diameter, which is at most {LARGEST_MM:g} mm"
        raise _O_RING.refuse(text, problem, reason=Refusal.OUT_OF_RANGE)
    return ORingReading(
        id_mm=id_mm,
        section_mm=section_mm,
        flags=cleaned.flags | {Flag.REORDERED} if values[0] == section_mm else cleaned.flags,
        raw=text,
    )


def format_o_ring(reading: ORingReading) -> str:
    """The one spelling: the code if there is one, else inside diameter x section.

    Example:
        >>> format_o_ring(parse_o_ring("as568a 013"))
        'AS568-013'
    """
    if reading.code:
        return reading.code
    return "x".join(format_number(v) for v in (reading.id_mm, reading.section_mm) if v is not None)
