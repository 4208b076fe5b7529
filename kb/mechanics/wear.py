"""Remaining distance from whatever readings of a series there are: straight line, robust line, or bounds.

A series belongs to one part: start a new one when it is replaced. One quantity, one series: a width
says nothing about cracks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.mechanics.wear_bounds import WearBounds, WearUncertainty, bound_wear
from kb.mechanics.wear_line import DEFAULT_CONFIDENCE, project_line
from kb.mechanics.wear_reading import RUBBER_UNCERTAINTY_MM, WearProjection, WearReading, check_readings
from kb.mechanics.wear_robust import project_robust


class WearMethod(StrEnum):
    """Way of projecting."""

    LINE = "line"
    ROBUST = "robust"


@dataclass(frozen=True, slots=True)
class WearForecast:
    """Both projections of a series of three or more readings, and which to go by."""

    line: WearProjection
    robust: WearProjection
    preferred: WearMethod

    @property
    def answer(self) -> WearProjection:
        """The projection to go by."""
        return self.line if self.preferred == WearMethod.LINE else self.robust


def forecast_wear(
    readings: Sequence[WearReading], limit_mm: float, *, confidence: float = DEFAULT_CONFIDENCE
) -> WearForecast:
    """Both projections of three or more readings.

    The straight line is preferred unless the robust one leaves its interval, which means an odd reading.

    Args:
        readings: three or more, in the order of distance.
        limit_mm: smallest good size [mm].
        confidence: two-sided, between 0 and 1.

    Returns:
        Both projections and the preferred one.

    Raises:
        BadInput: too few readings, a falling odometer, or all at one distance.
    """
    line = project_line(readings, limit_mm, confidence=confidence)
    robust = project_robust(readings, limit_mm, confidence=confidence)
    return WearForecast(
        line, robust, WearMethod.ROBUST if _has_odd_reading(line, robust) else WearMethod.LINE
    )


def bound_two_readings(
    readings: Sequence[WearReading], limit_mm: float, *, uncertainty_mm: float = RUBBER_UNCERTAINTY_MM
) -> WearBounds:
    """Bounds of the remaining distance from the first and the last of two readings.

    Args:
        readings: two, in the order of distance.
        limit_mm: smallest good size [mm].
        uncertainty_mm: of each reading [mm].

    Returns:
        The bounds.

    Raises:
        BadInput: fewer than two readings, a falling odometer, or both at one distance.

    Example:
        >>> bounds = bound_two_readings([WearReading(0.0, 18.0), WearReading(5000.0, 17.0)], 16.5)
        >>> round(bounds.remaining_km), round(bounds.low_km), round(bounds.high_km)
        (2500, 1667, 3750)
    """
    check_readings(readings, 2)
    first, last = readings[0], readings[-1]
    return bound_wear(
        first.size_mm,
        last.size_mm,
        limit_mm=limit_mm,
        distance_km=last.distance_km - first.distance_km,
        uncertainty=WearUncertainty(uncertainty_mm, uncertainty_mm),
    )


def _has_odd_reading(line: WearProjection, robust: WearProjection) -> bool:
    """Whether the robust distance lies outside the interval of the line."""
    if robust.remaining_km is None or line.low_km is None or line.high_km is None:
        return False
    return not line.low_km <= robust.remaining_km <= line.high_km
