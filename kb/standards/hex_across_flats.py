"""Hexagons of nuts and screw heads: which sizes across flats belong to a thread.

The same thread has up to five heads (ISO, the older DIN and JIS series, small hexagons, flanges), so the
size of the socket never follows from the thread alone: ``find_hexagons`` gives all of them, each with its
standard. Large thin nuts of the driven pulley follow no nut standard; their size is measured.

Source: per row: published ISO 4032, DIN 475-1, DIN 6923, JIS B 1180/1181 and JIS B 1189 tables, the rest
from a parts package and the tolerance rule of ISO 4759-1.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_optional_number, read_package_rows


@dataclass(frozen=True, slots=True)
class Hexagon:
    """Hexagon of one thread in one standard; ``largest`` and ``smallest`` limit the real size."""

    thread: str
    standard: str
    family: str
    across_flats_mm: float
    grade: str
    largest_mm: float
    smallest_mm: float
    smallest_across_corners_mm: float | None
    source: str


@cache
def list_hexagons() -> tuple[Hexagon, ...]:
    """All rows of the table, in the order of the table."""
    return tuple(
        Hexagon(
            thread=row["thread"],
            standard=row["standard"],
            family=row["family"],
            across_flats_mm=float(row["across_flats_mm"]),
            grade=row["grade"],
            largest_mm=float(row["largest_mm"]),
            smallest_mm=float(row["smallest_mm"]),
            smallest_across_corners_mm=read_optional_number(row["smallest_across_corners_mm"]),
            source=row["source"],
        )
        for row in read_package_rows("hex_across_flats.csv")
    )


def find_hexagons(thread: str) -> tuple[Hexagon, ...]:
    """All hexagons that the thread is made with, empty when the table has none.

    Args:
        thread: diameter only, for example M10; the pitch does not change the hexagon.

    Example:
        >>> sorted({hexagon.across_flats_mm for hexagon in find_hexagons("M10")})
        [13.0, 14.0, 15.0, 16.0, 17.0]
        >>> find_hexagons("M11")
        ()
    """
    return tuple(hexagon for hexagon in list_hexagons() if hexagon.thread == thread)
