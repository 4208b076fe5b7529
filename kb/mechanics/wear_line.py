"""Remaining distance from three or more readings, by a straight line of least squares.

Source: published: interval where the confidence band of the line meets the limit (Fieller), the idea of
single-use calibration in the NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.2.1 (extract read).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from kb.mechanics.normal_scatter import student_t_quantile
from kb.mechanics.wear_reading import (
    TOLERANCE,
    WearProjection,
    WearReading,
    WearState,
    check_readings,
    is_far_projection,
)

DEFAULT_CONFIDENCE = 0.9


@dataclass(frozen=True, slots=True)
class _Line:
    """Line of least squares through readings, with its scatter."""

    count: int
    mean_km: float
    mean_mm: float
    slope: float
    spread_km2: float
    scatter_mm: float

    def level_mm(self, distance_km: float) -> float:
        """Size on the line at a distance."""
        return self.mean_mm + self.slope * (distance_km - self.mean_km)


def project_line(
    readings: Sequence[WearReading], limit_mm: float, *, confidence: float = DEFAULT_CONFIDENCE
) -> WearProjection:
    """Remaining distance by a straight line, with the interval of Fieller.

    Args:
        readings: three or more, in the order of distance.
        limit_mm: smallest good size [mm]; at the limit the part is still good.
        confidence: two-sided, between 0 and 1.

    Returns:
        The projection. No remaining distance if the readings do not prove wear; 0 if the last reading is
        below the limit.

    Raises:
        BadInput: too few readings, a falling odometer, or all at one distance.

    Example:
        >>> belt = [WearReading(0.0, 18.0), WearReading(2000.0, 17.7), WearReading(4000.0, 17.3)]
        >>> round(project_line(belt, 16.5).remaining_km)
        4667
    """
    check_readings(readings, 3)
    line = _fit_line(readings)
    quantile = student_t_quantile(0.5 + 0.5 * confidence, line.count - 2)
    slope_error = quantile * line.scatter_mm / sqrt(line.spread_km2)
    last = readings[-1]
    level_now = line.level_mm(last.distance_km)
    proven = line.slope < 0.0 and slope_error < -line.slope
    remaining = low = high = None
    state = WearState.NO_PROVEN_WEAR
    if last.size_mm < limit_mm - TOLERANCE:
        state, remaining, low, high = WearState.BELOW_LIMIT, 0.0, 0.0, 0.0
    elif proven:
        state = WearState.PROJECTED
        remaining, low, high = (
            max(meeting_km - last.distance_km, 0.0)
            for meeting_km in _find_meeting_km(line, limit_mm, quantile=quantile)
        )
    return WearProjection(
        state=state,
        rate_mm_per_km=line.slope,
        rate_fast_mm_per_km=line.slope - slope_error,
        rate_slow_mm_per_km=line.slope + slope_error,
        level_now_mm=level_now,
        remaining_km=remaining,
        low_km=low,
        high_km=high,
        is_far=is_far_projection(readings, remaining),
    )


def _fit_line(readings: Sequence[WearReading]) -> _Line:
    count = len(readings)
    mean_km = sum(reading.distance_km for reading in readings) / count
    mean_mm = sum(reading.size_mm for reading in readings) / count
    spread = sum((reading.distance_km - mean_km) ** 2 for reading in readings)
    slope = (
        sum((reading.distance_km - mean_km) * (reading.size_mm - mean_mm) for reading in readings) / spread
    )
    residual = sum(
        (reading.size_mm - mean_mm - slope * (reading.distance_km - mean_km)) ** 2 for reading in readings
    )
    return _Line(count, mean_km, mean_mm, slope, spread, sqrt(residual / (count - 2)))


def _find_meeting_km(line: _Line, limit_mm: float, *, quantile: float) -> tuple[float, float, float]:
    """Distances where the line and the two sides of its confidence band meet the limit."""
    way = (limit_mm - line.mean_mm) / line.slope
    error_km = quantile * line.scatter_mm / abs(line.slope)
    share = error_km**2 / line.spread_km2
    half = error_km * sqrt((1.0 - share) / line.count + way**2 / line.spread_km2)
    return (
        line.mean_km + way,
        line.mean_km + (way - half) / (1.0 - share),
        line.mean_km + (way + half) / (1.0 - share),
    )
