"""Plain values of gauging: the reading, the limit it is held against, the machine, and the answer.

Numbers are in the unit of the limit row, mm where it states none. ``None`` is "not known" everywhere.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from kb.rules.fit.values import BeltNeed, DriveData, Measurement, RollerNeed, SpringNeed
from kb.rules.source import SourceRef
from kb.terms import LimitSense, Position


class GaugeState(StrEnum):
    """What the reading says about the part."""

    GOOD = "good"
    NEAR_LIMIT = "near_limit"
    REPLACE = "replace"
    NOT_KNOWN = "not_known"


class GaugeFindingCode(StrEnum):
    """What is odd about a reading or about the row it is held against."""

    LARGER_THAN_NEW = "larger_than_new"
    SMALLER_THAN_NEW = "smaller_than_new"
    FAR_FROM_NEW = "far_from_new"
    AT_THE_LIMIT = "at_the_limit"
    LIMIT_CONTRADICTS = "limit_contradicts"


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """One measured value of an engine's part."""

    engine: str
    position: Position
    quantity: str
    value: float


@dataclass(frozen=True, slots=True)
class GaugeLimit:
    """Size when new and limit of wear, as one source states them."""

    nominal: float | None = None
    limit: float | None = None
    sense: LimitSense | None = None
    unit: str | None = "mm"
    source: SourceRef | None = None


@dataclass(frozen=True, slots=True)
class GaugeMachine:
    """What is known of the machine that turns wear into a consequence."""

    belt: BeltNeed | None = None
    rollers: RollerNeed | None = None
    contra_spring: SpringNeed | None = None
    drive: DriveData | None = None


@dataclass(frozen=True, slots=True)
class GaugeConsequence:
    """What the wear changes on the machine: an amount with its unit, a percentage, or both."""

    quantity: str
    text: str
    change_percent: float | None = None
    change: float | None = None
    unit: str | None = None


@dataclass(slots=True)
class WearFindings:
    """What has been worked out so far, what was lacking for more, and what was filled in on the way."""

    consequences: list[GaugeConsequence] = field(default_factory=list)
    lacking: list[Measurement] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Wear:
    """A part when new and now, in the unit of its quantity."""

    new: float
    now: float
    machine: GaugeMachine

    @property
    def lost(self) -> float:
        """What the part has lost since new, negative for one that has grown."""
        return self.new - self.now


@dataclass(frozen=True, slots=True)
class GaugeFinding:
    """Something odd, with the sentence that says so."""

    code: GaugeFindingCode
    text: str


@dataclass(frozen=True, slots=True)
class GaugeAnswer:
    """The verdict on a measured value.

    ``room`` is what is left to the limit, negative beyond it; ``meaning`` is what a verdict alone would hide.
    """

    engine: str
    position: Position
    quantity: str
    value: float
    unit: str | None
    nominal: float | None
    limit: float | None
    sense: LimitSense | None
    state: GaugeState
    used_percent: float | None
    room: float | None
    text: str
    meaning: str | None
    findings: tuple[GaugeFinding, ...]
    consequences: tuple[GaugeConsequence, ...]
    measure_next: tuple[Measurement, ...]
    source: SourceRef | None
    cautions: tuple[str, ...]
