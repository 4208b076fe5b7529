"""Which rule decides at which position, and what it says of a size against each stated need."""

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from kb.rules.fit.belt import BeltJudge
from kb.rules.fit.envelope import judge_envelope
from kb.rules.fit.fastener import judge_fastener
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.rollers import judge_rollers
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.springs import judge_clutch_springs, judge_contra_spring
from kb.rules.fit.values import (
    BeltNeed,
    DriveData,
    FastenerNeed,
    Judgement,
    Need,
    PartSize,
    Reason,
    RollerNeed,
    SizeNeed,
    SpringNeed,
)
from kb.terms import (
    FASTENER_POSITIONS,
    POSITIONS_OF_PART_TYPE,
    SIZE_POSITIONS,
    EvidenceKind,
    Outcome,
    PartType,
    Position,
)

SPRING_POSITIONS = (Position.CLUTCH_SPRINGS, Position.CONTRA_SPRING)
JUDGED_POSITIONS = (
    Position.DRIVE_BELT,
    Position.ROLLERS,
    *SPRING_POSITIONS,
    *FASTENER_POSITIONS,
    *SIZE_POSITIONS,
)


def has_size_rule(position: Position) -> bool:
    """Whether parts at a position are judged by their numbers; else only by fit records."""
    return position in JUDGED_POSITIONS


def fill_from_others(need: Need, others: Sequence[Need]) -> Need:
    """A need with its gaps filled by what other sources state, the better source first.

    The kind of a belt's length is taken only from a source that states the same length.
    """
    values: dict[str, Any] = {}
    if isinstance(need, BeltNeed) and need.length_mm is not None and need.length_kind is None:
        belts = [other for other in others if isinstance(other, BeltNeed)]
        kinds = (other.length_kind for other in belts if other.length_mm == need.length_mm)
        values["length_kind"] = next((kind for kind in kinds if kind is not None), None)
    for item in fields(need):
        if item.name == "source" or item.name in values or getattr(need, item.name) is not None:
            continue
        stated = (getattr(other, item.name) for other in others if other is not need)
        values[item.name] = next((value for value in stated if value is not None), None)
    return replace(need, **values)


class SizeJudge:
    """Judges sizes at one position of one engine against one need; equal sizes are judged once."""

    def __init__(self, position: Position, need: Need, drive: DriveData | None, *, limits: FitLimits) -> None:
        self.position = position
        self.need = need
        self.limits = limits
        self.belt = BeltJudge(need, drive, limits) if isinstance(need, BeltNeed) else None
        self._judged: dict[PartSize, Judgement] = {}

    def judge(self, asked: PartSize) -> Judgement:
        """What the numbers say of a size."""
        if asked not in self._judged:
            self._judged[asked] = self._judge(asked)
        return self._judged[asked]

    def _judge(self, asked: PartSize) -> Judgement:
        need = self.need
        if self.belt is not None:
            return self.belt.judge(asked)
        if isinstance(need, RollerNeed):
            return judge_rollers(asked, need, self.limits)
        if isinstance(need, FastenerNeed):
            return judge_fastener(asked, need, self.limits)
        if isinstance(need, SizeNeed):
            return judge_envelope(asked, need, self.position, self.limits)
        if isinstance(need, SpringNeed):
            judge = judge_clutch_springs if self.position is Position.CLUTCH_SPRINGS else judge_contra_spring
            return judge(asked, need, self.limits)
        raise TypeError(f"No rule for a need of type {type(need).__name__}.")


def judge_without_need(position: Position) -> Judgement:
    """The answer where the engine's need at a judged position is not recorded."""
    words = position.replace("_", " ")
    text = f"What the engine needs as {words} is not recorded."
    return Judgement(
        kind=EvidenceKind.SIZE,
        outcome=Outcome.NOT_KNOWN,
        text=text,
        reasons=(Reason(ReasonCode.PART_NEED, Outcome.NOT_KNOWN, text),),
        measure_next=(
            build_measurement("fit", why=f"Measure the {words} taken out of the engine and record its size."),
        ),
    )


def find_wrong_type(part_type: PartType, position: Position) -> Judgement | None:
    """The answer where a part of this type has no business at a position judged by numbers, else None.

    Where parts are judged by fit records only, the type decides nothing.
    """
    if not has_size_rule(position):
        return None
    if position in POSITIONS_OF_PART_TYPE[part_type] or part_type is PartType.OTHER:
        return None
    if part_type is PartType.NUT and position in FASTENER_POSITIONS:
        return None
    text = f"A {part_type.replace('_', ' ')} does not go in as {position.replace('_', ' ')}."
    return Judgement(
        kind=EvidenceKind.SIZE,
        outcome=Outcome.DOES_NOT_FIT,
        text=text,
        is_firm=True,
        reasons=(Reason(ReasonCode.PART_TYPE, Outcome.DOES_NOT_FIT, text, str(part_type), str(position)),),
    )
