"""Boundary dimensions behind bearing codes: deep-groove ball bearings and drawn-cup needle bearings.

The plan of the dimensions is ISO 15. A row gives the envelope only; seal, clearance and cage are
named by suffixes of the code and do not change it.

Source: each row carries its own, most of them from memory.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows


@dataclass(frozen=True, slots=True)
class BearingDimensions:
    """The envelope of one bearing code. ``trade_code`` is the short form met at the counter."""

    code: str
    trade_code: str
    bearing_type: str
    dimension_series: str | None
    bore_mm: float
    od_mm: float
    width_mm: float
    source: str


def _dimensions_of_row(row: dict[str, str]) -> BearingDimensions:
    return BearingDimensions(
        code=row["code"],
        trade_code=row["trade_code"],
        bearing_type=row["type"],
        dimension_series=row["dimension_series"] or None,
        bore_mm=float(row["bore_mm"]),
        od_mm=float(row["od_mm"]),
        width_mm=float(row["width_mm"]),
        source=row["source"],
    )


@cache
def list_bearing_dimensions() -> tuple[BearingDimensions, ...]:
    """All rows of the table, in its order."""
    return tuple(_dimensions_of_row(row) for row in read_package_rows("bearing_dimensions.csv"))


@cache
def _dimensions_by_code() -> dict[str, BearingDimensions]:
    rows = list_bearing_dimensions()
    return {row.trade_code: row for row in rows} | {row.code: row for row in rows}


def find_bearing_dimensions(code: str) -> BearingDimensions | None:
    """The envelope of a bearing code without suffixes, in its long or short form, or None.

    Example:
        >>> find_bearing_dimensions("6902").od_mm
        28.0
        >>> find_bearing_dimensions("61902").od_mm
        28.0
        >>> find_bearing_dimensions("6299") is None
        True
    """
    return _dimensions_by_code().get(code)
