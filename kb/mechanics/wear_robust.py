"""Remaining distance from three or more readings, by a slope that one odd reading cannot spoil.

Source: published: median of pair slopes with the interval of P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379,
corrected for ties, as the SciPy documentation of ``theilslopes`` describes it (read; the paper not opened).
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import combinations
from math import sqrt
from statistics import median

from kb.mechanics.normal_scatter import normal_quantile
from kb.mechanics.wear_line import DEFAULT_CONFIDENCE
from kb.mechanics.wear_reading import (
    TOLERANCE,
    WearProjection,
    WearReading,
    WearState,
    check_readings,
    is_far_projection,
)


def project_robust(
    readings: Sequence[WearReading], limit_mm: float, *, confidence: float = DEFAULT_CONFIDENCE
) -> WearProjection:
    """Remaining distance by the median of the slopes of all pairs of readings.

    Args:
        readings: three or more, in the order of distance; pairs at one distance are left out.
        limit_mm: smallest good size [mm]; at the limit the part is still good.
        confidence: two-sided, between 0 and 1.

    Returns:
        The projection; the upper end is open if the slow end of the slope is not a loss.

    Raises:
        BadInput: too few readings, a falling odometer, or all at one distance.

    Example:
        >>> belt = [WearReading(0.0, 18.0), WearReading(2000.0, 14.7), WearReading(4000.0, 17.4)]
        >>> round(project_robust(belt, 16.5).rate_mm_per_km, 6)
        -0.00015
    """
    check_readings(readings, 3)
    slopes = sorted(
        (later.size_mm - earlier.size_mm) / (later.distance_km - earlier.distance_km)
        for earlier, later in combinations(readings, 2)
        if later.distance_km > earlier.distance_km
    )
    rate = median(slopes)
    fast, slow = _find_slope_interval(readings, slopes, confidence=confidence)
    last = readings[-1]
    middle_km = median(reading.distance_km for reading in readings)
    level_now = median(reading.size_mm for reading in readings) + rate * (last.distance_km - middle_km)
    state, remaining, low, high = WearState.NO_PROVEN_WEAR, None, None, None
    if last.size_mm < limit_mm - TOLERANCE:
        state, remaining, low, high = WearState.BELOW_LIMIT, 0.0, 0.0, 0.0
    elif rate < 0.0:
        state = WearState.PROJECTED
        room = max(level_now - limit_mm, 0.0)
        remaining, low = room / -rate, room / -fast
        high = room / -slow if slow < 0.0 else None
    return WearProjection(
        state=state,
        rate_mm_per_km=rate,
        rate_fast_mm_per_km=fast,
        rate_slow_mm_per_km=slow,
        level_now_mm=level_now,
        remaining_km=remaining,
        low_km=low,
        high_km=high,
        is_far=is_far_projection(readings, remaining),
    )


def _find_slope_interval(
    readings: Sequence[WearReading], slopes: Sequence[float], *, confidence: float
) -> tuple[float, float]:
    """Ends of the slope: ranks among the sorted pair slopes, by Kendall's variance with ties."""
    count = len(readings)
    variance = (
        _tie_term(count)
        - sum(map(_tie_term, _list_tie_sizes(reading.distance_km for reading in readings)))
        - sum(map(_tie_term, _list_tie_sizes(reading.size_mm for reading in readings)))
    ) / 18.0
    reach = normal_quantile(0.5 + 0.5 * confidence) * sqrt(max(variance, 0.0))
    upper = min(round((len(slopes) + reach) / 2.0), len(slopes) - 1)
    lower = max(round((len(slopes) - reach) / 2.0) - 1, 0)
    return slopes[lower], slopes[upper]


def _tie_term(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def _list_tie_sizes(values: Iterable[float]) -> list[int]:
    return [size for size in Counter(values).values() if size > 1]
