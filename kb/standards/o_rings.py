"""Inside diameter and section behind coded O-ring sizes.

Inch sizes carry AS568 dash numbers (ISO 3601 lists the same rings); the series P of JIS B 2401 is met
on machines of Asian origin. A code says nothing of the rubber. Only rings up to about 50 mm are listed.

Source: each row carries its own, nearly all from memory: measure a ring before relying on a code.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows


@dataclass(frozen=True, slots=True)
class ORingDimensions:
    """The ring behind one code."""

    code: str
    id_mm: float
    section_mm: float
    source: str


@cache
def _rings_by_code() -> dict[str, ORingDimensions]:
    return {
        row["code"]: ORingDimensions(
            code=row["code"],
            id_mm=float(row["id_mm"]),
            section_mm=float(row["section_mm"]),
            source=row["source"],
        )
        for row in read_package_rows("o_rings.csv")
    }


def list_o_ring_dimensions() -> tuple[ORingDimensions, ...]:
    """All rows of the table, in its order."""
    return tuple(_rings_by_code().values())


def find_o_ring_dimensions(code: str) -> ORingDimensions | None:
    """The ring of a code such as AS568-013 or P15, or None.

    Example:
        >>> find_o_ring_dimensions("AS568-013").id_mm
        10.82
        >>> find_o_ring_dimensions("P999") is None
        True
    """
    return _rings_by_code().get(code)
