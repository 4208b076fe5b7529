"""The verdict on one part or size at one position of one engine.

Needs stated by several sources are all judged: those of the best rank decide (disagreeing ones make a
conflict and the more cautious outcome), the others stand in the evidence.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kb.rules.fit.findings import pick_most_cautious
from kb.rules.fit.judge import (
    fill_from_others,
    find_wrong_type,
    has_size_rule,
    judge_size,
    judge_without_need,
)
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import (
    Asked,
    DriveData,
    Evidence,
    FitRecord,
    Judgement,
    Measurement,
    Need,
    PartSize,
    Reason,
    Verdict,
)
from kb.rules.fit.weigh import Weighed, weigh_records
from kb.terms import Certainty, EvidenceKind, Outcome, Position

GENERAL_CAUTION = (
    "Values serve as a guide for people with the training and tools for this work. The maker's manual for the exact "
    "model, local rules and licensed practice decide over this answer."
)


@dataclass(frozen=True, slots=True)
class EngineAtPosition:
    """What is recorded of an engine at one position: needs of all sources, best first, and its drive."""

    engine: str
    position: Position
    needs: tuple[Need, ...] = ()
    drive: DriveData | None = None


@dataclass(frozen=True, slots=True)
class _Judged:
    """Judgements of the best-ranked needs (the first decides), of the others, and whether they agree."""

    decisive: Judgement | None
    others: tuple[Judgement, ...] = ()
    disagree: bool = False
    lower_disagree: bool = False


def build_verdict(
    place: EngineAtPosition,
    asked: Asked,
    records: Sequence[FitRecord],
    *,
    limits: FitLimits,
    rival_sizes: Sequence[PartSize] = (),
) -> Verdict:
    """The verdict, without alternatives.

    Args:
        place: the engine at the position asked about.
        asked: the part or size asked about.
        records: fit records of that part at that place, of all sources.
        limits: limits of the rules.
        rival_sizes: sizes of the same part that an equally good source states differently.
    """
    judged = _judge_all(place, asked, limits=limits, rival_sizes=rival_sizes)
    weighed = weigh_records(judged.decisive, records)
    if judged.disagree:
        weighed = Weighed(weighed.outcome, Certainty.UNSURE, conflict=True)
    elif judged.lower_disagree:
        weighed = replace(weighed, conflict=True)
    decisive = judged.decisive
    return Verdict(
        outcome=weighed.outcome,
        certainty=weighed.certainty,
        engine=place.engine,
        position=place.position,
        asked=asked,
        need=fill_from_others(place.needs[0], place.needs) if place.needs else None,
        reasons=decisive.reasons if decisive else (_explain_record_only(place.position, records),),
        consequences=decisive.consequences if decisive else (),
        evidence=_list_evidence(judged, records),
        measure_next=_list_measurements(weighed, decisive),
        conflict=weighed.conflict,
        cautions=(*asked.cautions, *(decisive.cautions if decisive else ()), GENERAL_CAUTION),
    )


def _judge_all(
    place: EngineAtPosition, asked: Asked, *, limits: FitLimits, rival_sizes: Sequence[PartSize]
) -> _Judged:
    part_type = asked.part.part_type if asked.part else None
    wrong_type = find_wrong_type(part_type, place.position) if part_type else None
    if wrong_type:
        return _Judged(wrong_type)
    if not has_size_rule(place.position):
        return _Judged(None)
    if not place.needs:
        return _Judged(judge_without_need(place.position))
    best_rank = place.needs[0].source.rank
    best, lower = [], []
    for need in place.needs:
        filled = fill_from_others(need, place.needs)
        is_best = need.source.rank == best_rank
        for size in (asked.size, *(rival_sizes if is_best else ())):
            judgement = judge_size(place.position, size, filled, drive=place.drive, limits=limits)
            (best if is_best else lower).append(judgement)
    cautious = pick_most_cautious([judgement.outcome for judgement in best])
    decisive = next(judgement for judgement in best if judgement.outcome is cautious)
    return _Judged(
        decisive,
        others=tuple(judgement for judgement in (*best, *lower) if judgement is not decisive),
        disagree=len({judgement.outcome for judgement in best}) > 1,
        lower_disagree=any(judgement.outcome is not cautious for judgement in lower),
    )


def _explain_record_only(position: Position, records: Sequence[FitRecord]) -> Reason:
    words = position.replace("_", " ")
    best = min(records, key=lambda record: record.source.rank, default=None)
    if best is None:
        text = (
            f"Parts at the position {words} are judged by fit records only, and there is none for this part."
        )
        return Reason(ReasonCode.PART_NO_RULE, Outcome.NOT_KNOWN, text)
    text = f"Parts at the position {words} are judged by fit records only; the best one says: {_say(best.outcome)}."
    return Reason(ReasonCode.PART_NO_RULE, best.outcome, text, source=best.source.source)


def _say(outcome: Outcome) -> str:
    return outcome.replace("_", " ")


def _list_evidence(judged: _Judged, records: Sequence[FitRecord]) -> tuple[Evidence, ...]:
    ranked = sorted(records, key=lambda record: record.source.rank)
    by_record = [
        Evidence(EvidenceKind.RECORD, record.outcome, record.source, _describe_record(record))
        for record in ranked
    ]
    judgements = ((judged.decisive,) if judged.decisive else ()) + judged.others
    by_size = [Evidence(item.kind, item.outcome, item.source, item.text) for item in judgements]
    return (*by_record, *by_size)


def _describe_record(record: FitRecord) -> str:
    seen = f" on {record.seen_on.isoformat()}" if record.seen_on else ""
    note = f": {record.note}" if record.note else "."
    return f"Recorded as '{_say(record.outcome)}'{seen}, {record.source.as_text()}{note}"


def _list_measurements(weighed: Weighed, decisive: Judgement | None) -> tuple[Measurement, ...]:
    if weighed.outcome is not Outcome.NOT_KNOWN and weighed.certainty is not Certainty.UNSURE:
        return ()
    found = dict.fromkeys(decisive.measure_next if decisive else ())
    if weighed.conflict:
        found[build_measurement("fit", why="The evidence disagrees.")] = None
    if not found:
        found[build_measurement("fit")] = None
    return tuple(found)
