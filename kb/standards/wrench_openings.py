"""Metric sockets and wrenches: how wide they open.

Source: limits of ISO 691 from memory, not confirmed. Beside them stands what the inch rule of ASME B18.2.2
gives for the same size, for comparison.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows

SAME_METRIC_SIZE_MM = 0.005


@dataclass(frozen=True, slots=True)
class WrenchOpening:
    """Limits of the opening of one metric tool size."""

    size_mm: float
    opening_smallest_mm: float
    opening_largest_mm: float
    inch_rule_smallest_mm: float
    inch_rule_largest_mm: float
    source: str


@cache
def list_wrench_openings() -> tuple[WrenchOpening, ...]:
    """All rows of the table, smallest size first."""
    return tuple(
        WrenchOpening(
            size_mm=float(row["size_mm"]),
            opening_smallest_mm=float(row["opening_smallest_mm"]),
            opening_largest_mm=float(row["opening_largest_mm"]),
            inch_rule_smallest_mm=float(row["inch_rule_smallest_mm"]),
            inch_rule_largest_mm=float(row["inch_rule_largest_mm"]),
            source=row["source"],
        )
        for row in read_package_rows("wrench_openings.csv")
    )


def find_wrench_opening(size_mm: float) -> WrenchOpening | None:
    """Opening of the metric tool of exactly this size, None when there is no such tool.

    Example:
        >>> find_wrench_opening(38.0).opening_largest_mm
        38.6
        >>> find_wrench_opening(38.1) is None
        True
    """
    for row in list_wrench_openings():
        if abs(row.size_mm - size_mm) <= SAME_METRIC_SIZE_MM:
            return row
    return None
