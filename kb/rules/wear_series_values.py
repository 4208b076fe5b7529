"""Plain values of a wear series: what was written down over time, and what follows from it.

Sizes are in the unit of the limit row; distances in km, or in days where no odometer was written down.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from kb.terms import Certainty


class SeriesState(StrEnum):
    """Whether a remaining distance can be told, and why not."""

    PROJECTED = "projected"
    BEYOND_LIMIT = "beyond_limit"
    NO_PROVEN_WEAR = "no_proven_wear"
    NO_RATE = "no_rate"
    NO_LIMIT = "no_limit"
    NO_READING = "no_reading"
    DATA_ERROR = "data_error"


class SeriesMethod(StrEnum):
    """How the remaining distance was found."""

    LINE = "line"
    ROBUST = "robust"
    TWO_READINGS = "two_readings"
    ONE_READING = "one_reading"
    NONE = "none"


class SeriesFindingCode(StrEnum):
    """What is odd about a series."""

    FALLING_ODOMETER = "falling_odometer"
    GROWING_READING = "growing_reading"
    ODD_READING = "odd_reading"
    SAME_DISTANCE = "same_distance"
    LEFT_OUT = "left_out"
    FAR_PROJECTION = "far_projection"
    LIMIT_CONTRADICTS = "limit_contradicts"


class SeriesAxis(StrEnum):
    """What the wear is held against."""

    KM = "km"
    DAYS = "days"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class SeriesEntry:
    """One line of the bench book: a reading, the fitting of a new part, or both (the new part measured).

    Entries stand in the order in which they were written down.
    """

    value: float | None = None
    odometer_km: float | None = None
    on: date | None = None
    is_new_part: bool = False


@dataclass(frozen=True, slots=True)
class SeriesFinding:
    """Something odd, with the sentence that says so."""

    code: SeriesFindingCode
    text: str


@dataclass(frozen=True, slots=True)
class SeriesAnswer:
    """How long a part will last, as far as its readings tell.

    Attributes:
        state: whether a remaining distance can be told.
        method: how it was found.
        axis: unit of every distance here, km or days.
        reading_count: readings of the part now fitted that were used.
        rate: change per km or day, negative while a size falls; None if it cannot be told.
        level_now: size at the last reading, smoothed where there is scatter.
        room: what is left to the limit at the last reading, negative beyond it.
        remaining: distance to the limit, 0 beyond it; None if it cannot be told.
        low: lower end of its interval.
        high: upper end of its interval, None if it is open or cannot be told.
        measure_again_km: odometer at which to measure again.
        measure_again_on: date on which to measure again, for a series in days.
        certainty: sure for a part beyond its limit, probable for a plain line, else unsure.
        findings: what is odd.
        text: the answer in one sentence.
    """

    state: SeriesState
    method: SeriesMethod
    axis: SeriesAxis
    reading_count: int
    rate: float | None
    level_now: float | None
    room: float | None
    remaining: float | None
    low: float | None
    high: float | None
    measure_again_km: float | None
    measure_again_on: date | None
    certainty: Certainty
    findings: tuple[SeriesFinding, ...]
    text: str
