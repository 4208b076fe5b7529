"""Sizes nearly as asked, kept apart. Sizes of the trade: common practice, no source."""

import pytest

from kb.rules.match.look_up import look_up
from kb.rules.match.near import compare_near, get_reach, list_near_tokens
from kb.rules.match.tokens import Candidate, Group, GroupKind, Reading, RowText
from kb.terms import Certainty

ROWS = [
    RowText("AA-10001", "Oldra", "drive belt 788 x 17 x 28"),
    RowText("AA-10002", "Oldra", "drive belt 790 x 17 x 28"),
    RowText("AA-10003", "Oldra", "drive belt 842 x 20 x 30"),
    RowText("AA-10004", "Oldra", "oil seal 788 x 17 x 28"),
]


@pytest.fixture(scope="module")
def ask(make_store):
    store, analyser = make_store(ROWS)
    return lambda text: look_up(store, analyser.analyse_question(text))


def test_a_size_one_off_is_unsure_and_listed_apart(ask):
    found = ask("belt 787 17 28")
    assert found.matches[0].certainty is Certainty.UNSURE
    assert [near.candidate.part_number for near in found.near_sizes] == ["AA-10001", "AA-10002"]
    assert found.near_sizes[0].differs == ((787.0, 788.0),)
    assert found.near_sizes[0].why == "Not the asked size: 788 instead of 787."


def test_the_asked_size_needs_no_near_ones(ask):
    found = ask("belt 788 17 28")
    assert found.matches[0].candidate.part_number == "AA-10001"
    assert found.near_sizes == ()


def test_a_size_out_of_reach_is_not_near(ask):
    assert ask("belt 810 17 28").near_sizes == ()


@pytest.mark.parametrize(("value", "reach"), [(10.0, 0.5), (100.0, 0.5), (200.0, 1.0), (788.0, 3.94)])
def test_reach_is_half_a_percent_and_at_least_half_a_millimetre(value, reach):
    assert get_reach(value) == pytest.approx(reach)


def test_tokens_stay_within_reach():
    assert list_near_tokens(200.0) == ("n199", "n199p5", "n200", "n200p5", "n201")


def test_a_number_that_is_no_length_has_no_neighbours():
    assert list_near_tokens(999_999_999.0) == ()


def test_a_row_without_a_number_in_reach_is_no_near_size():
    size = Group(GroupKind.NUMBER, "787", 1.6, (("n787", 1.0),))
    row = Candidate(1, frozenset({"n700", "kdrivebelt"}))
    assert compare_near(Reading((size,)), row) is None
