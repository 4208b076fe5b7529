"""The riding season of a part type as twelve factors around 1, and the exposure of a time ahead.

A month of exposure 1 is an average month with the part on the shelf all the time. A June with a
season factor of 1.5 counts as one and a half such months.
"""

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import fsum

from kb.errors import BadInput

MONTHS_NEEDED = 24
# Pieces that pull each factor towards 1, so that a thin history does not make a season.
PULL_PIECES = 40.0


@dataclass(frozen=True, slots=True)
class SeasonIndex:
    """Twelve factors, January first, mean 1."""

    factors: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse anything but twelve factors from 0 up."""
        if len(self.factors) != 12 or min(self.factors) < 0.0:
            message = f"Season index of {len(self.factors)} factors is not usable; give 12 factors from 0 up."
            raise BadInput(message, field="factors")


FLAT_SEASON = SeasonIndex((1.0,) * 12)


def compute_season_index(pieces_by_month: Sequence[float], first_month: int) -> SeasonIndex:
    """Season of a part type: how far each calendar month stands above or below its year.

    Args:
        pieces_by_month: pieces of all parts of the type, month by month without a gap.
        first_month: calendar month of the first entry, 1 … 12.

    Returns:
        Factors with mean 1; all 1 under 24 months of history. A month's sales are compared with the
        centred twelve-month mean (weights 1/24, eleven 1/12, 1/24), both pulled to 1 by 40 pieces.

    Source: published: ratio to centred moving average, a textbook method (from memory); the pull of
    40 pieces is a judgement of this project.

    Example:
        >>> compute_season_index([5] * 36, 1).factors[0]
        1.0
        >>> compute_season_index([5] * 23, 1) == FLAT_SEASON
        True
    """
    if len(pieces_by_month) < MONTHS_NEEDED:
        return FLAT_SEASON
    sales, means = [PULL_PIECES] * 12, [PULL_PIECES] * 12
    for k in range(6, len(pieces_by_month) - 6):
        around = pieces_by_month[k - 6 : k + 7]
        centred = (fsum(around) - 0.5 * (around[0] + around[-1])) / 12.0
        calendar_month = (first_month - 1 + k) % 12
        sales[calendar_month] += pieces_by_month[k]
        means[calendar_month] += centred
    raw = [sold / mean for sold, mean in zip(sales, means, strict=True)]
    scale = 12.0 / fsum(raw)
    return SeasonIndex(tuple(factor * scale for factor in raw))


def compute_exposure_of_month(season_factor: float, share_in_stock: float) -> float:
    """Exposure of a past month: its season factor times the share of days the part was in stock.

    A month before the part was on sale has share 0. A month in which pieces asked for and not had
    were written down is a full month: share 1.

    Example:
        >>> compute_exposure_of_month(1.2, 0.5)
        0.6
    """
    if not 0.0 <= share_in_stock <= 1.0:
        message = f"Share of days in stock '{share_in_stock}' is not usable; write a share from 0 to 1."
        raise BadInput(message, field="share_in_stock")
    return season_factor * share_in_stock


def compute_exposure_of_months(season: SeasonIndex, first_month: int, *, months: float) -> float:
    """Exposure of so many months from the start of a calendar month on; the last one may be a part.

    Example:
        >>> compute_exposure_of_months(FLAT_SEASON, 11, months=2.5)
        2.5
    """
    whole = int(months)
    factors = season.factors
    total = fsum(factors[(first_month - 1 + k) % 12] for k in range(whole))
    return total + (months - whole) * factors[(first_month - 1 + whole) % 12]


@lru_cache(maxsize=1024)  # the articles of a shelf share few seasons and waits
def compute_exposure_ahead(season: SeasonIndex, start: date, *, days: int) -> float:
    """Exposure of the days from a date on, each day as its share of its own calendar month.

    Args:
        season: factors of the part type.
        start: first day counted.
        days: number of days, from 0.

    Returns:
        Months of exposure.

    Example:
        >>> compute_exposure_ahead(FLAT_SEASON, date(2026, 4, 16), days=30)
        0.9838709677419355
    """
    total, day, left = 0.0, start, days
    while left > 0:
        days_in_month = monthrange(day.year, day.month)[1]
        step = min(left, days_in_month - day.day + 1)
        total += season.factors[day.month - 1] * step / days_in_month
        day += timedelta(days=step)
        left -= step
    return total
