"""How far a hexagon may be below its nominal size across flats (it is never above it).

Product grade A has the narrow tolerance, grade B the wide one. Nuts are grade A up to M16 and B above;
screws A up to M24. Older ordinary-finish hexagons may be up to 0.8 mm under size: measure.

Source: ISO 4759-1 with the tolerance grades of ISO 286-1, both from memory; the results are checked on
published DIN 475-1 and ISO 4032 rows.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows


@dataclass(frozen=True, slots=True)
class HexTolerance:
    """Tolerance of a grade for sizes above ``above_mm``, up to and including ``up_to_mm``."""

    grade: str
    above_mm: float
    up_to_mm: float
    tolerance_mm: float
    field: str
    source: str


@cache
def list_hex_tolerances() -> tuple[HexTolerance, ...]:
    """All rows of the table, grade A before grade B."""
    return tuple(
        HexTolerance(
            grade=row["grade"],
            above_mm=float(row["above_mm"]),
            up_to_mm=float(row["up_to_mm"]),
            tolerance_mm=float(row["tolerance_mm"]),
            field=row["field"],
            source=row["source"],
        )
        for row in read_package_rows("hex_tolerances.csv")
    )


def find_hex_tolerance(across_flats_mm: float, grade: str) -> HexTolerance | None:
    """Tolerance of a nominal size in a grade, None outside the table.

    Args:
        across_flats_mm: nominal size [mm], above 3; up to 80 in grade A, 60 in grade B.
        grade: "A" or "B".

    Example:
        >>> find_hex_tolerance(19.0, "A").tolerance_mm
        0.33
        >>> find_hex_tolerance(90.0, "A") is None
        True
    """
    for row in list_hex_tolerances():
        if row.grade == grade and row.above_mm < across_flats_mm <= row.up_to_mm:
            return row
    return None
