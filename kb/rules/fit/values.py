"""Plain values of the fit question: the size asked about, what the engine needs, and the answer.

Lengths in mm, angles in degree (included), masses in g of one roller, speeds in r/min, coil = mean coil
diameter. ``None`` is "not known" everywhere and is never filled in except where a docstring says so.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from kb.mechanics.drive_range import Drive
from kb.rules.fit.reasons import ReasonCode
from kb.rules.source import SourceRef
from kb.terms import Certainty, EvidenceKind, Outcome, PartStatus, PartType, Position

Number = float | int


@dataclass(frozen=True, slots=True)
class PartSize:
    """The numbers of an article or of a size that was read from a text."""

    length_mm: float | None = None
    length_kind: str | None = None
    top_width_mm: float | None = None
    angle_deg: float | None = None
    thickness_mm: float | None = None
    diameter_mm: float | None = None
    width_mm: float | None = None
    mass_g: float | None = None
    count: int | None = None
    rated_rpm: float | None = None
    free_length_mm: float | None = None
    wire_mm: float | None = None
    coil_mm: float | None = None
    active_coils: float | None = None
    bore_mm: float | None = None
    outside_mm: float | None = None
    clearance: str | None = None
    form: str | None = None
    thread: str | None = None
    across_flats_mm: float | None = None


@dataclass(frozen=True, slots=True)
class BeltNeed:
    """The belt that an engine asks for, as one source states it."""

    source: SourceRef
    length_mm: float | None = None
    length_kind: str | None = None
    top_width_mm: float | None = None
    angle_deg: float | None = None
    thickness_mm: float | None = None
    top_width_limit_mm: float | None = None


@dataclass(frozen=True, slots=True)
class RollerNeed:
    """The rollers that an engine asks for."""

    source: SourceRef
    diameter_mm: float | None = None
    width_mm: float | None = None
    mass_g: float | None = None
    count: int | None = None
    diameter_limit_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SpringNeed:
    """The clutch springs or the contra spring that an engine asks for."""

    source: SourceRef
    count: int | None = None
    rated_rpm: float | None = None
    free_length_mm: float | None = None
    free_length_limit_mm: float | None = None
    wire_mm: float | None = None
    coil_mm: float | None = None
    active_coils: float | None = None
    installed_length_mm: float | None = None
    shortest_length_mm: float | None = None
    outer_space_mm: float | None = None
    inner_space_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SizeNeed:
    """The bearing, seal or o-ring that an engine asks for."""

    source: SourceRef
    bore_mm: float | None = None
    outside_mm: float | None = None
    width_mm: float | None = None
    clearance: str | None = None
    form: str | None = None


@dataclass(frozen=True, slots=True)
class FastenerNeed:
    """The thread and head of a nut or screw of an engine."""

    source: SourceRef
    thread: str | None = None
    hand: str | None = None
    across_flats_mm: float | None = None


Need = BeltNeed | RollerNeed | SpringNeed | SizeNeed | FastenerNeed


@dataclass(frozen=True, slots=True)
class DriveData:
    """A complete drive of an engine with the speeds that go with it."""

    source: SourceRef
    drive: Drive
    cord_depth_mm: float | None = None
    idle_rpm: float | None = None
    clutch_rpm: float | None = None


@dataclass(frozen=True, slots=True)
class FitRecord:
    """Somebody's statement that a part did or did not fit."""

    outcome: Outcome
    source: SourceRef
    note: str | None = None
    seen_on: date | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """One finding: which rule, what it says, the value, the limit used, and where the need came from."""

    rule: ReasonCode
    outcome: Outcome
    text: str
    value: Number | str | None = None
    limit: Number | str | None = None
    unit: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Consequence:
    """What changes on the machine, in percent where a number can be given."""

    quantity: str
    text: str
    change_percent: float | None = None


@dataclass(frozen=True, slots=True)
class Measurement:
    """A quantity to measure next, and how."""

    quantity: str
    text: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """What size or geometry says, before fit records are weighed.

    ``is_firm``: the outcome may be called probable without a record.
    """

    kind: EvidenceKind
    outcome: Outcome
    text: str
    is_firm: bool = False
    reasons: tuple[Reason, ...] = ()
    consequences: tuple[Consequence, ...] = ()
    measure_next: tuple[Measurement, ...] = ()
    cautions: tuple[str, ...] = ()
    source: SourceRef | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """One piece of evidence as it stands in the answer."""

    kind: EvidenceKind
    outcome: Outcome
    source: SourceRef | None
    text: str


@dataclass(frozen=True, slots=True)
class PartRef:
    """A part as an answer names it."""

    maker: str
    part_number: str
    part_type: PartType | None = None
    description: str | None = None
    status: PartStatus | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked about: a part of the catalogue, or only a size.

    Attributes:
        size: its numbers, each from the best source that states it.
        part: the part, None for a size.
        text: as it was typed.
        cautions: what was assumed in reading the text.
        rival_sizes: sizes of the part that an equally good source states differently.
        part_number: a part number that several makers use, where the maker was not named.
    """

    size: PartSize
    part: PartRef | None = None
    text: str = ""
    cautions: tuple[str, ...] = ()
    rival_sizes: tuple[PartSize, ...] = ()
    part_number: str | None = None


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another part that would do, with its stock, its price, and the numbers of its ranking."""

    part: PartRef
    outcome: Outcome
    certainty: Certainty
    on_hand: int
    why: str
    change_percent: float | None = None
    price_minor: int | None = None
    currency: str | None = None
    places: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer to "does this part fit this engine at this position?"."""

    outcome: Outcome
    certainty: Certainty
    engine: str
    position: Position | None
    asked: Asked
    need: Need | None = None
    reasons: tuple[Reason, ...] = ()
    consequences: tuple[Consequence, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    measure_next: tuple[Measurement, ...] = ()
    conflict: bool = False
    alternatives: tuple[Alternative, ...] = ()
    cautions: tuple[str, ...] = ()
    extra: dict[str, Any] = field(default_factory=dict)
