"""Whether a part sells smoothly, erratically, now and then, or in lumps: worth showing, not acting on.

Source: cut-offs 1.32 and 0.49 published: Syntetos, Boylan & Croston, Journal of the Operational
Research Society 56 (2005), from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import fsum

INTERVAL_CUT_OFF = 1.32
VARIATION_CUT_OFF = 0.49


class DemandClass(StrEnum):
    """How the months of a part look."""

    SMOOTH = "smooth"
    ERRATIC = "erratic"
    INTERMITTENT = "intermittent"
    LUMPY = "lumpy"
    NO_DEMAND = "no_demand"


@dataclass(frozen=True, slots=True)
class DemandPattern:
    """The class and the two figures it follows from; None where no month had a demand."""

    demand_class: DemandClass
    months_between: float | None
    squared_variation: float | None


def compute_demand_pattern(
    pieces_by_month: Sequence[float], months_on_sale: int | None = None
) -> DemandPattern:
    """Class of a history, from the gaps between months with demand and the spread of those months.

    Args:
        pieces_by_month: pieces asked for in each month on sale; months without demand may be left out.
        months_on_sale: all months, also those left out; None = as many as are given.

    Returns:
        Class, months per month with demand (1 = every month), and squared coefficient of variation
        of the months with demand (population variance). On a cut-off the calmer class holds.

    Example:
        >>> compute_demand_pattern([0, 0, 1, 0, 0, 1]).demand_class.value
        'intermittent'
        >>> compute_demand_pattern([1, 1], 6).demand_class.value
        'intermittent'
        >>> compute_demand_pattern([0, 0]).demand_class.value
        'no_demand'
    """
    sold = [pieces for pieces in pieces_by_month if pieces > 0]
    if not sold:
        return DemandPattern(DemandClass.NO_DEMAND, None, None)
    interval = (len(pieces_by_month) if months_on_sale is None else months_on_sale) / len(sold)
    mean = fsum(sold) / len(sold)
    variation = fsum([(pieces - mean) ** 2 for pieces in sold]) / len(sold) / mean**2
    is_frequent = interval <= INTERVAL_CUT_OFF
    if variation <= VARIATION_CUT_OFF:
        demand_class = DemandClass.SMOOTH if is_frequent else DemandClass.INTERMITTENT
    else:
        demand_class = DemandClass.ERRATIC if is_frequent else DemandClass.LUMPY
    return DemandPattern(demand_class, interval, variation)
