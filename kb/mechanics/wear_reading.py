"""Readings of a part against distance, and what every way of projecting them answers.

Distances may be days where there is no odometer: then every "km" below is a day. Sizes fall towards the
limit; for a size that grows towards a largest value, turn the sign of sizes and limit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from kb.errors import BadInput

TOLERANCE = 1e-9
"""Slack of comparisons with the limit [mm]; exactly at the limit is still good."""

METAL_UNCERTAINTY_MM = 0.05
RUBBER_UNCERTAINTY_MM = 0.1
NEW_BELT_TOLERANCE_MM = 0.2
"""Uncertainty of a reading on metal and on rubber, and of a new belt's width (judgement of this project)."""

FAR_SPAN_FACTOR = 2.0
"""A remaining distance above this many observed spans deserves a warning (judgement of this project)."""


class WearState(StrEnum):
    """Whether a remaining distance can be told."""

    PROJECTED = "projected"
    BELOW_LIMIT = "below_limit"
    NO_PROVEN_WEAR = "no_proven_wear"
    NO_RATE = "no_rate"


@dataclass(frozen=True, slots=True)
class WearReading:
    """A size read at a distance."""

    distance_km: float
    size_mm: float


@dataclass(frozen=True, slots=True)
class WearProjection:
    """Remaining distance from readings.

    Attributes:
        state: whether the remaining distance can be told, and why not.
        rate_mm_per_km: change of size, negative when the part loses size; None if it cannot be told.
        rate_fast_mm_per_km: fastest plausible wear (lower end of the interval), None if it cannot be told.
        rate_slow_mm_per_km: slowest plausible wear (the upper end), may be 0 or above.
        level_now_mm: size at the last reading, smoothed where there is scatter.
        remaining_km: distance to the limit, 0 if it is reached, None if it cannot be told.
        low_km: lower end of the interval, None if it cannot be told.
        high_km: upper end of the interval, None if it is open or cannot be told.
        is_far: the remaining distance is above twice the observed span.
    """

    state: WearState
    rate_mm_per_km: float | None
    rate_fast_mm_per_km: float | None
    rate_slow_mm_per_km: float | None
    level_now_mm: float
    remaining_km: float | None
    low_km: float | None
    high_km: float | None
    is_far: bool


def check_readings(readings: Sequence[WearReading], smallest_count: int) -> None:
    """Return if there are enough readings, in order, over some distance.

    Raises:
        BadInput: too few readings, a falling odometer, or all readings at one distance.

    Example:
        >>> check_readings([WearReading(2000.0, 18.0), WearReading(1000.0, 17.9)], 2)
        Traceback (most recent call last):
        ...
        kb.errors.BadInput: Distance '1000.0' km follows 2000 km; an odometer does not fall; correct the \
reading or start a new series.
    """
    if len(readings) < smallest_count:
        raise BadInput(
            f"Readings '{len(readings)}' are fewer than {smallest_count}; measure again later.",
            field="readings",
        )
    for earlier, later in pairwise(readings):
        if later.distance_km < earlier.distance_km:
            raise BadInput(
                f"Distance '{later.distance_km}' km follows {earlier.distance_km:g} km; an odometer does "
                "not fall; correct the reading or start a new series.",
                field="distance_km",
            )
    if readings[0].distance_km == readings[-1].distance_km:
        raise BadInput(
            f"Distance '{readings[-1].distance_km}' km is that of every reading; "
            "measure again some distance later.",
            field="distance_km",
        )


def list_growing_readings(
    readings: Sequence[WearReading], uncertainty_mm: float = RUBBER_UNCERTAINTY_MM
) -> tuple[int, ...]:
    """Places (from 0) of readings that grew by more than twice the uncertainty [mm]: error or another part.

    Example:
        >>> list_growing_readings([WearReading(0.0, 17.0), WearReading(900.0, 17.9)])
        (1,)
    """
    return tuple(
        place
        for place in range(1, len(readings))
        if readings[place].size_mm - readings[place - 1].size_mm > 2.0 * uncertainty_mm + TOLERANCE
    )


def is_far_projection(readings: Sequence[WearReading], remaining_km: float | None) -> bool:
    """Whether a remaining distance [km] is more than twice the span that was observed."""
    span_km = readings[-1].distance_km - readings[0].distance_km
    return remaining_km is not None and remaining_km > FAR_SPAN_FACTOR * span_km
