"""The verdict on one part or size at one position of one engine.

Needs stated by several sources are all judged, each with its gaps filled from the others: those of the best
rank decide (disagreeing ones make a conflict, the more cautious outcome, and unsure), the others stand in the
evidence and only mark a conflict. Sizes of the part that equally good sources state differently are judged
the same way. A part of a type that has no business at the position does not fit, unless a fit record speaks
of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kb.rules.fit.findings import list_quantities, pick_most_cautious
from kb.rules.fit.judge import SizeJudge, fill_from_others, find_wrong_type, has_size_rule, judge_without_need
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
    Reason,
    Verdict,
)
from kb.rules.fit.weigh import Weighed, weigh_records
from kb.rules.word_list import format_word_list
from kb.terms import Certainty, EvidenceKind, Outcome, Position

GENERAL_CAUTION = (
    "Values serve as a guide for people with the training and tools for this work. The maker's manual for "
    "the exact model, local rules and licensed practice decide over this answer."
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


class PlaceJudge:
    """Gives verdicts at one position of one engine; what depends only on the engine is computed once.

    Args:
        place: what is recorded of the engine at the position.
        limits: limits of the rules.
    """

    def __init__(self, place: EngineAtPosition, limits: FitLimits) -> None:
        self.place = place
        needs = place.needs if has_size_rule(place.position) else ()
        self._best: list[SizeJudge] = []
        self._lower: list[SizeJudge] = []
        for need in needs:
            filled = fill_from_others(need, needs)
            judge = SizeJudge(place.position, filled, place.drive, limits=limits)
            (self._best if need.source.rank == needs[0].source.rank else self._lower).append(judge)

    @property
    def first(self) -> SizeJudge | None:
        """The judge by the best need, None where no need is recorded or only records decide."""
        return self._best[0] if self._best else None

    def judge(self, asked: Asked, records: Sequence[FitRecord]) -> Verdict:
        """The verdict, without alternatives.

        Args:
            asked: the part or size asked about.
            records: fit records of that part at that place, of all sources.
        """
        judged = self._judge_sizes(asked, has_records=bool(records))
        weighed = weigh_records(judged.decisive, records)
        if judged.disagree:
            weighed = Weighed(weighed.outcome, Certainty.UNSURE, conflict=True)
        elif judged.lower_disagree:
            weighed = replace(weighed, conflict=True)
        decisive, place = judged.decisive, self.place
        return Verdict(
            outcome=weighed.outcome,
            certainty=weighed.certainty,
            engine=place.engine,
            position=place.position,
            asked=asked,
            need=fill_from_others(place.needs[0], place.needs) if place.needs else None,
            reasons=_list_reasons(place.position, decisive, records),
            consequences=decisive.consequences if decisive else (),
            evidence=_list_evidence(judged, records),
            measure_next=_list_measurements(weighed, judged),
            conflict=weighed.conflict,
            cautions=(*asked.cautions, *(decisive.cautions if decisive else ()), GENERAL_CAUTION),
        )

    def _judge_sizes(self, asked: Asked, *, has_records: bool) -> _Judged:
        position = self.place.position
        part_type = asked.part.part_type if asked.part else None
        wrong_type = find_wrong_type(part_type, position) if part_type and not has_records else None
        if wrong_type:
            return _Judged(wrong_type)
        if not has_size_rule(position):
            return _Judged(None)
        if not self._best:
            return _Judged(judge_without_need(position))
        sizes = (asked.size, *asked.rival_sizes)
        best = [judge.judge(size) for judge in self._best for size in sizes]
        lower = [judge.judge(asked.size) for judge in self._lower]
        cautious = pick_most_cautious([judgement.outcome for judgement in best])
        decisive = next(judgement for judgement in best if judgement.outcome is cautious)
        return _Judged(
            decisive,
            others=tuple(judgement for judgement in (*best, *lower) if judgement is not decisive),
            disagree=len({judgement.outcome for judgement in best}) > 1,
            lower_disagree=any(judgement.outcome is not cautious for judgement in lower),
        )


def build_verdict(
    place: EngineAtPosition, asked: Asked, records: Sequence[FitRecord], *, limits: FitLimits
) -> Verdict:
    """The verdict on one part or size, without alternatives; for many at one place keep a ``PlaceJudge``."""
    return PlaceJudge(place, limits).judge(asked, records)


def _list_reasons(
    position: Position, decisive: Judgement | None, records: Sequence[FitRecord]
) -> tuple[Reason, ...]:
    by_size = decisive.reasons if decisive else ()
    if records:
        return (_explain_records(records), *by_size)
    if decisive is not None:
        return by_size
    words = position.replace("_", " ")
    text = f"Parts at the position {words} are judged by fit records only, and there is none for this part."
    return (Reason(ReasonCode.PART_NO_RULE, Outcome.NOT_KNOWN, text),)


def _explain_records(records: Sequence[FitRecord]) -> Reason:
    """What the best-ranked records say together."""
    rank = min(record.source.rank for record in records)
    best = [record for record in records if record.source.rank == rank]
    outcomes = dict.fromkeys(record.outcome for record in best)
    source = best[0].source
    if len(outcomes) > 1:
        said = format_word_list([f"'{_say(outcome)}'" for outcome in outcomes])
        text = f"Equally good fit records disagree: {said}."
    else:
        text = f"The best fit record says '{_say(best[0].outcome)}', {source.as_text()}."
    return Reason(ReasonCode.PART_RECORD, pick_most_cautious(outcomes), text, source=source.name)


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
    note = f" Note: {record.note.rstrip('. ')}." if record.note else ""
    return f"Recorded as '{_say(record.outcome)}'{seen}, {record.source.as_text()}.{note}"


def _list_measurements(weighed: Weighed, judged: _Judged) -> tuple[Measurement, ...]:
    """What to measure where the answer is open or unsure: never nothing."""
    if weighed.outcome is not Outcome.NOT_KNOWN and weighed.certainty is not Certainty.UNSURE:
        return ()
    decisive = judged.decisive
    found = dict.fromkeys(decisive.measure_next if decisive else ())
    if weighed.conflict:
        for quantity in _list_disputed(judged):
            found[build_measurement(quantity, why="The evidence disagrees.")] = None
        found[build_measurement("fit", why="The evidence disagrees.")] = None
    if not found:
        found[build_measurement("fit")] = None
    return tuple(found)


def _list_disputed(judged: _Judged) -> list[str]:
    """Quantities that would settle a disagreement: those found off the need anywhere, else all compared."""
    judgements = ((judged.decisive,) if judged.decisive else ()) + judged.others
    reasons = [reason for judgement in judgements for reason in judgement.reasons]
    off = [reason for reason in reasons if reason.outcome is not Outcome.FITS]
    return list_quantities(off) or list_quantities(reasons)
