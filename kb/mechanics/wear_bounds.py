"""Remaining distance from two readings, or from one reading and a new size: no scatter to judge, so bounds.

Source: corner cases of all uncertainties combined, exact; the default uncertainties are judgement of
this project.
"""

from dataclasses import dataclass

from kb.mechanics.plausible_input import check_not_negative, check_positive
from kb.mechanics.wear_reading import NEW_BELT_TOLERANCE_MM, RUBBER_UNCERTAINTY_MM, TOLERANCE, WearState

REMEASURE_FACTOR = 3.0
"""Measure again when wear should exceed this many uncertainties (judgement of this project)."""


@dataclass(frozen=True, slots=True)
class WearUncertainty:
    """How far the two sizes may be off. For two readings both are the uncertainty of a reading.

    Defaults are those of a belt (judgement of this project); on metal a reading is good to 0.05 mm.
    """

    start_mm: float = NEW_BELT_TOLERANCE_MM
    reading_mm: float = RUBBER_UNCERTAINTY_MM

    def __post_init__(self) -> None:
        check_not_negative("start_mm", self.start_mm)
        check_not_negative("reading_mm", self.reading_mm)


DEFAULT_UNCERTAINTY = WearUncertainty()


@dataclass(frozen=True, slots=True)
class WearBounds:
    """Remaining distance between bounds.

    Attributes:
        state: whether the remaining distance can be told, and why not.
        room_mm: size above the limit, negative below it.
        rate_mm_per_km: change of size, negative when the part loses size, None without a distance.
        remaining_km: distance to the limit, None if it cannot be told.
        low_km: lower bound, None if it cannot be told.
        high_km: upper bound, None if it is open or cannot be told.
        remeasure_wear_mm: measure again after a distance at which wear should exceed this.
    """

    state: WearState
    room_mm: float
    rate_mm_per_km: float | None
    remaining_km: float | None
    low_km: float | None
    high_km: float | None
    remeasure_wear_mm: float


def bound_wear(
    start_size_mm: float,
    size_mm: float,
    *,
    limit_mm: float,
    distance_km: float | None,
    uncertainty: WearUncertainty = DEFAULT_UNCERTAINTY,
) -> WearBounds:
    """Bounds of the remaining distance from a first size and a reading.

    Args:
        start_size_mm: new size, or the first of two readings [mm].
        size_mm: size read now [mm].
        limit_mm: smallest good size [mm]; at the limit the part is still good.
        distance_km: distance between the two, above 0; None if it is not known.
        uncertainty: of both sizes.

    Returns:
        The bounds. Without a distance only the room to the limit; 0 left if the reading is below the limit.

    Raises:
        BadInput: a distance not above 0.

    Example:
        >>> metal = WearUncertainty(0.2, 0.05)
        >>> bounds = bound_wear(18.0, 17.0, limit_mm=16.5, distance_km=9000.0, uncertainty=metal)
        >>> round(bounds.low_km), round(bounds.remaining_km), round(bounds.high_km)
        (3240, 4500, 6600)
    """
    if distance_km is not None:
        check_positive("distance_km", distance_km)
    room = size_mm - limit_mm
    rate = None if distance_km is None else (size_mm - start_size_mm) / distance_km
    state: WearState
    remaining: float | None = None
    low: float | None = None
    high: float | None = None
    if room < -TOLERANCE:
        state, remaining, low, high = WearState.BELOW_LIMIT, 0.0, 0.0, 0.0
    elif distance_km is None:
        state = WearState.NO_RATE
    else:
        worn = start_size_mm - size_mm
        spread = uncertainty.start_mm + uncertainty.reading_mm
        state = WearState.PROJECTED if worn > TOLERANCE else WearState.NO_PROVEN_WEAR
        remaining = _way_km(room, worn, distance_km=distance_km)
        low = _way_km(room - uncertainty.reading_mm, worn + spread, distance_km=distance_km)
        high = _way_km(room + uncertainty.reading_mm, worn - spread, distance_km=distance_km)
    return WearBounds(
        state=state,
        room_mm=room,
        rate_mm_per_km=rate,
        remaining_km=remaining,
        low_km=low,
        high_km=high,
        remeasure_wear_mm=REMEASURE_FACTOR * uncertainty.reading_mm,
    )


def _way_km(room_mm: float, worn_mm: float, *, distance_km: float) -> float | None:
    """Distance in which the room is used up at the wear seen, None if nothing was worn."""
    return max(room_mm, 0.0) * distance_km / worn_mm if worn_mm > TOLERANCE else None
