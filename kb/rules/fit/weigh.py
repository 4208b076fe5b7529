"""Fit records weighed against what size or geometry says: the six rules of evidence.

1. Records rank by their source.
2. Without a record the outcome of size or geometry stands.
3. Record and size agree: sure when the record is a manual's, a standard's or measured, else probable.
4. Size says nothing: the record's outcome, probable when it is one of those, else unsure.
5. They disagree, or the best records disagree: conflict, the more cautious outcome, unsure. A record
   "fits" beside "fits with change" is no conflict. A lower-ranked record that disagrees is shown and
   changes nothing.
6. A superseded part is judged like any other.

Source: contract of this project, judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.rules.fit.findings import pick_most_cautious
from kb.rules.fit.values import FitRecord, Judgement
from kb.terms import Certainty, Outcome


@dataclass(frozen=True, slots=True)
class Weighed:
    """Outcome after weighing."""

    outcome: Outcome
    certainty: Certainty
    conflict: bool


def weigh_records(judgement: Judgement | None, records: Sequence[FitRecord]) -> Weighed:
    """Outcome, certainty and conflict of a judgement (None: no rule for this position) and fit records."""
    by_size = judgement.outcome if judgement else Outcome.NOT_KNOWN
    if not records:
        firm = judgement is not None and judgement.is_firm
        return Weighed(by_size, Certainty.PROBABLE if firm else Certainty.UNSURE, conflict=False)
    best_rank = min(record.source.rank for record in records)
    best = [record for record in records if record.source.rank == best_rank]
    outcomes = {record.outcome for record in best}
    if len(outcomes) > 1:
        known = outcomes | ({by_size} if by_size is not Outcome.NOT_KNOWN else set())
        return Weighed(pick_most_cautious(known), Certainty.UNSURE, conflict=True)
    weighed = _weigh_one(by_size, best[0])
    disputed = any(record.outcome is not best[0].outcome for record in records)
    return Weighed(weighed.outcome, weighed.certainty, weighed.conflict or disputed)


def _weigh_one(by_size: Outcome, record: FitRecord) -> Weighed:
    strong = record.source.is_strong
    if record.outcome is Outcome.NOT_KNOWN and by_size is Outcome.NOT_KNOWN:
        return Weighed(Outcome.NOT_KNOWN, Certainty.UNSURE, conflict=False)
    if by_size is Outcome.NOT_KNOWN:
        return Weighed(record.outcome, Certainty.PROBABLE if strong else Certainty.UNSURE, conflict=False)
    agrees = record.outcome is by_size
    if agrees or (record.outcome is Outcome.FITS and by_size is Outcome.FITS_WITH_CHANGE):
        return Weighed(by_size, Certainty.SURE if strong else Certainty.PROBABLE, conflict=False)
    return Weighed(pick_most_cautious((record.outcome, by_size)), Certainty.UNSURE, conflict=True)
