"""The rules of evidence, clause by clause.

Source of every expected value: the documented rules of evidence of this project (judgement).
"""

from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.rules.fit.values import FitRecord, Judgement
from kb.rules.fit.weigh import weigh_records
from kb.rules.source import SourceRef
from kb.terms import EvidenceKind, Outcome, SourceKind

FITS, CHANGE, NO, UNKNOWN = "fits", "fits_with_change", "does_not_fit", "not_known"
STRONG = ("manual", "standard", "measured")
WEAK = ("supplier", "common_practice", "estimate", "not_stated")
MORE_CAUTIOUS = {FITS: 3, CHANGE: 2, UNKNOWN: 1, NO: 0}


def judged(outcome: str | None, *, firm: bool = True) -> Judgement | None:
    if outcome is None:
        return None
    return Judgement(EvidenceKind.SIZE, Outcome(outcome), "sizes compared", is_firm=firm)


def record(kind: str, outcome: str) -> FitRecord:
    return FitRecord(Outcome(outcome), SourceRef(kind, SourceKind(kind)))


def weigh(size: Judgement | None, *records: FitRecord) -> tuple[str, str, bool]:
    weighed = weigh_records(size, records)
    return str(weighed.outcome), str(weighed.certainty), weighed.conflict


@pytest.mark.parametrize("outcome", [FITS, CHANGE, NO])
def test_without_a_record_a_firm_judgement_stands_as_probable(outcome: str) -> None:
    assert weigh(judged(outcome)) == (outcome, "probable", False)


@pytest.mark.parametrize("outcome", [FITS, CHANGE, UNKNOWN])
def test_without_a_record_any_other_judgement_stands_as_unsure(outcome: str) -> None:
    assert weigh(judged(outcome, firm=False)) == (outcome, "unsure", False)


def test_position_without_rule_and_record_is_not_known() -> None:
    assert weigh(None) == (UNKNOWN, "unsure", False)


@pytest.mark.parametrize("kind", STRONG)
@pytest.mark.parametrize("outcome", [FITS, CHANGE, NO])
def test_strong_record_that_agrees_makes_sure(kind: str, outcome: str) -> None:
    assert weigh(judged(outcome), record(kind, outcome)) == (outcome, "sure", False)


@pytest.mark.parametrize("kind", WEAK)
@pytest.mark.parametrize("outcome", [FITS, CHANGE, NO])
def test_weak_record_that_agrees_makes_probable_even_of_an_unsure_size(kind: str, outcome: str) -> None:
    assert weigh(judged(outcome, firm=False), record(kind, outcome)) == (outcome, "probable", False)


@pytest.mark.parametrize("size", [UNKNOWN, None])
@pytest.mark.parametrize("outcome", [FITS, CHANGE, NO])
def test_record_decides_where_size_says_nothing(size: str | None, outcome: str) -> None:
    for kind in STRONG:
        assert weigh(judged(size, firm=False), record(kind, outcome)) == (outcome, "probable", False)
    for kind in WEAK:
        assert weigh(judged(size, firm=False), record(kind, outcome)) == (outcome, "unsure", False)


@pytest.mark.parametrize(
    ("size", "recorded", "outcome"),
    [(FITS, CHANGE, CHANGE), (FITS, NO, NO), (CHANGE, NO, NO), (NO, FITS, NO), (NO, CHANGE, NO)],
)
def test_disagreement_is_a_conflict_and_the_more_cautious_outcome(
    size: str, recorded: str, outcome: str
) -> None:
    for kind in (*STRONG, *WEAK):
        assert weigh(judged(size), record(kind, recorded)) == (outcome, "unsure", True)


def test_record_fits_beside_a_size_with_a_change_is_no_conflict() -> None:
    assert weigh(judged(CHANGE), record("measured", FITS)) == (CHANGE, "sure", False)
    assert weigh(judged(CHANGE, firm=False), record("supplier", FITS)) == (CHANGE, "probable", False)


def test_record_not_known_beside_a_known_size_is_a_conflict() -> None:
    assert weigh(judged(FITS), record("manual", UNKNOWN)) == (UNKNOWN, "unsure", True)
    assert weigh(judged(NO), record("manual", UNKNOWN)) == (NO, "unsure", True)


def test_lower_ranked_record_that_disagrees_only_marks_a_conflict() -> None:
    records = (record("supplier", NO), record("manual", FITS))
    assert weigh(judged(FITS), *records) == (FITS, "sure", True)
    assert weigh(judged(UNKNOWN), *records) == (FITS, "probable", True)


def test_two_records_of_the_best_rank_that_disagree_are_a_conflict() -> None:
    assert weigh(judged(FITS), record("manual", FITS), record("standard", NO)) == (NO, "unsure", True)
    assert weigh(None, record("supplier", FITS), record("supplier", CHANGE)) == (CHANGE, "unsure", True)
    assert weigh(judged(UNKNOWN), record("manual", FITS), record("manual", CHANGE)) == (
        CHANGE,
        "unsure",
        True,
    )


def test_size_takes_part_where_the_best_records_disagree() -> None:
    assert weigh(judged(NO), record("manual", FITS), record("manual", CHANGE)) == (NO, "unsure", True)


def test_sources_rank_from_manual_to_not_stated() -> None:
    ranked = ("manual", "measured", "supplier", "common_practice", "estimate", "not_stated")
    for better, worse in pairwise(ranked):
        outcome, _, conflict = weigh(None, record(worse, NO), record(better, FITS))
        assert (outcome, conflict) == (FITS, True)
    assert weigh(None, record("standard", NO), record("manual", FITS))[0] == NO


RECORDS = st.lists(
    st.builds(record, st.sampled_from([*STRONG, *WEAK]), st.sampled_from(list(MORE_CAUTIOUS))), max_size=5
)


@given(st.sampled_from([*MORE_CAUTIOUS, None]), RECORDS)
def test_no_weighing_is_sure_without_a_strong_record_or_better_than_all_evidence(
    size: str | None, records: list[FitRecord]
) -> None:
    outcome, certainty, conflict = weigh(judged(size), *records)
    said = [str(item.outcome) for item in records] + ([size] if size else [])
    assert outcome in [*said, UNKNOWN]
    if certainty == "sure":
        assert any(item.source.is_strong for item in records)
        assert size in (FITS, CHANGE, NO)
    if conflict:
        assert len(set(said)) > 1


def test_order_of_the_records_does_not_matter() -> None:
    for kinds in product(("manual", "supplier"), repeat=2):
        pair = (record(kinds[0], FITS), record(kinds[1], NO))
        assert weigh(judged(FITS), *pair) == weigh(judged(FITS), *reversed(pair))
