"""Inch sockets and wrenches: marked size in millimetres and how wide they open.

The opening is 1.005 W + 0.001 in at least and 0.005 W + 0.004 in wider at most, W being the marked size.

Source: sizes are 25.4 mm per inch exactly; openings of ASME B18.2.2: the published table where it has the
size, else its formula, as the row says.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows
from kb.units import convert_inch_to_mm

SAME_INCH_SIZE_MM = 0.05


@dataclass(frozen=True, slots=True)
class InchHex:
    """Inch tool of one marked size, for example 1-1/2, and the limits of its opening."""

    size: str
    size_in: float
    size_mm: float
    opening_smallest_mm: float
    opening_largest_mm: float
    nearest_metric_mm: float
    source: str


@cache
def list_inch_hexes() -> tuple[InchHex, ...]:
    """All rows of the table, smallest size first."""
    return tuple(
        InchHex(
            size=row["size"],
            size_in=float(row["size_in"]),
            size_mm=convert_inch_to_mm(float(row["size_in"])),
            opening_smallest_mm=float(row["opening_smallest_mm"]),
            opening_largest_mm=float(row["opening_largest_mm"]),
            nearest_metric_mm=float(row["nearest_metric_mm"]),
            source=row["source"],
        )
        for row in read_package_rows("inch_hexes.csv")
    )


def find_inch_hex(size_mm: float) -> InchHex | None:
    """Inch tool whose size is within 0.05 mm of the given one, None when there is none.

    Some metric sizes lie as near (27 mm and 1-1/16 in are 0.013 mm apart): ask for the metric size first.

    Example:
        >>> find_inch_hex(38.1).size
        '1-1/2'
        >>> find_inch_hex(38.0) is None
        True
    """
    for row in list_inch_hexes():
        if abs(row.size_mm - size_mm) <= SAME_INCH_SIZE_MM:
            return row
    return None
