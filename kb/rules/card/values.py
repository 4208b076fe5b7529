"""Plain values of the bench card. ``None`` is "not known" everywhere; torques in N·m, sizes in mm."""

from dataclasses import dataclass

from kb.rules.fit.values import PartRef
from kb.rules.gauge_values import GaugeLimit
from kb.rules.source import SourceRef
from kb.rules.tools.cautions import Caution
from kb.rules.tools.lubrication import ThreadCondition
from kb.rules.tools.torque_band import TorqueBand
from kb.rules.tools.torque_limiting_bar import BarAnswer
from kb.rules.tools.torque_sanity import TorqueSanity
from kb.terms import FastenerDrive, Hand, Outcome, Position, ToolKind

UNKNOWN_TORQUE = TorqueBand()


@dataclass(frozen=True, slots=True)
class JobStep:
    """One step of a job as the job sheet has it; ``fastener`` says that one is undone or tightened."""

    step: int
    text: str
    position: Position | None = None
    needs_part: bool = False
    fastener: bool = False
    tool: str | None = None
    consumable: str | None = None
    caution: str | None = None


@dataclass(frozen=True, slots=True)
class StatedFastener:
    """A nut or screw as one source states it."""

    position: Position
    source: SourceRef
    thread: str | None = None
    hand: Hand | None = None
    drive: FastenerDrive | None = None
    across_flats_mm: float | None = None
    count: int | None = None
    torque: TorqueBand = UNKNOWN_TORQUE
    locking: str | None = None
    single_use: bool | None = None
    holding: str | None = None


@dataclass(frozen=True, slots=True)
class GenericLimit:
    """Generic torque of a thread [N·m]: an upper limit for a second look, never the torque of a job."""

    highest_nm: float
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class BarAdvice:
    """Whether a torque-limiting bar of the shop may run this nut down before the torque wrench."""

    tool: str
    answer: BarAnswer


@dataclass(frozen=True, slots=True)
class CardFastener:
    """A fastener on the card.

    ``differs`` names what another source states differently; ``agreeing`` are sources that say the same.
    """

    stated: StatedFastener
    hand: Hand
    condition: ThreadCondition
    differs: tuple[str, ...]
    agreeing: tuple[SourceRef, ...]
    sanity: TorqueSanity | None
    generic_limit: GenericLimit | None
    bars: tuple[BarAdvice, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class ToolSetting:
    """What to set a torque wrench to at a position, by which source, and how far it may be off."""

    position: Position
    setting_nm: float
    is_computed: bool
    deviation_nm: float | None
    source: str | None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CardTool:
    """A tool that the job needs, whether the shop owns it, and what may stand in when it does not."""

    tool: str
    kind: ToolKind
    size_mm: float | None
    owned: bool
    stand_in: str | None
    positions: tuple[Position, ...]
    steps: tuple[int, ...]
    measure: bool
    text: str
    settings: tuple[ToolSetting, ...] = ()


@dataclass(frozen=True, slots=True)
class CardPart:
    """A part to have ready; ``part`` is None when nothing in the catalogue is known to do."""

    position: Position
    part: PartRef | None
    outcome: Outcome
    on_hand: int
    needed: int
    places: tuple[tuple[str, int], ...] = ()
    why: str = ""
    others: tuple["CardPart", ...] = ()


@dataclass(frozen=True, slots=True)
class CardArticle:
    """An article of the catalogue with the places where some are on the shelf."""

    part: PartRef
    places: tuple[tuple[str, int], ...] = ()

    @property
    def on_hand(self) -> int:
        """Pieces at all places together."""
        return sum(count for _, count in self.places)


@dataclass(frozen=True, slots=True)
class CardConsumable:
    """Something that is used up, the steps that use it, and the articles of that name with their stock."""

    consumable: str
    steps: tuple[int, ...]
    articles: tuple[CardArticle, ...] = ()


@dataclass(frozen=True, slots=True)
class CardLimit:
    """A limit to gauge on the way."""

    position: Position
    quantity: str
    limit: GaugeLimit


@dataclass(frozen=True, slots=True)
class CardFigure:
    """A torque that belongs to a step; it is shown behind the cautions of the step."""

    position: Position
    text: str
    source: SourceRef
    is_verified: bool
    differs: bool


@dataclass(frozen=True, slots=True)
class CardStep:
    """A step with its cautions, then its figures."""

    job_step: JobStep
    cautions: tuple[Caution, ...]
    figures: tuple[CardFigure, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """The bench card of one engine and one job."""

    engine: str
    engine_name: str | None
    job: str
    title: str | None
    note: str | None
    fasteners: tuple[CardFastener, ...]
    tools: tuple[CardTool, ...]
    parts: tuple[CardPart, ...]
    consumables: tuple[CardConsumable, ...]
    limits: tuple[CardLimit, ...]
    steps: tuple[CardStep, ...]
    missing: tuple[str, ...]
    disagreements: tuple[str, ...]
    warnings: tuple[str, ...]
