"""Which rule decides at which position, and what it says of a size against each stated need."""

from collections.abc import Sequence
from dataclasses import fields, replace

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
    """A need with its gaps filled by what other sources state, the better source first."""
    values = {}
    for item in fields(need):
        if item.name == "source" or getattr(need, item.name) is not None:
            continue
        stated = (getattr(other, item.name) for other in others if other is not need)
        values[item.name] = next((value for value in stated if value is not None), None)
    return replace(need, **values)


def judge_size(
    position: Position, asked: PartSize, need: Need, *, drive: DriveData | None, limits: FitLimits
) -> Judgement:
    """What the numbers say of a size at a position.

    Raises:
        TypeError: the need is not of the kind that the position asks for.
    """
    if isinstance(need, BeltNeed):
        return BeltJudge(need, drive, limits).judge(asked)
    if isinstance(need, RollerNeed):
        return judge_rollers(asked, need, limits)
    if isinstance(need, FastenerNeed):
        return judge_fastener(asked, need, limits)
    if isinstance(need, SizeNeed):
        return judge_envelope(asked, need, position, limits)
    if isinstance(need, SpringNeed):
        judge = judge_clutch_springs if position is Position.CLUTCH_SPRINGS else judge_contra_spring
        return judge(asked, need, limits)
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
    """The answer where a part of this type has no business at this position, else None."""
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
