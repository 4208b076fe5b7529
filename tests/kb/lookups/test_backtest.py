"""The backtest on the demo shop's own past."""

from datetime import date

import pytest

from kb.database import open_database, open_reader
from kb.errors import BadInput
from kb.lookups.backtest import play_backtest
from kb.lookups.low_stock import LowStockQuestion


@pytest.fixture
def answer(demo_path):
    engine = open_database(str(demo_path))
    with open_reader(engine) as session:
        found = play_backtest(session, LowStockQuestion(date(2026, 11, 20)))
    engine.dispose()
    return found


def test_every_rule_is_played_on_the_same_demand(answer):
    """demo README: demand from November 2023 to October 2026, 36 months."""
    assert (answer.months, answer.counted_months) == (36, 12)
    assert len({rule.result.pieces_asked for rule in answer.rules}) == 1
    assert len(answer.rules) == 6


def test_more_cover_holds_and_serves_more(answer):
    covers = [rule.result for rule in answer.rules if rule.name.startswith("order up to")]
    assert [result.fill_rate for result in covers] == sorted(result.fill_rate for result in covers)
    assert [r.mean_pieces_held for r in covers] == sorted(r.mean_pieces_held for r in covers)


def test_the_method_serves_about_what_is_asked_for(answer):
    method = answer.rules[0]
    assert method.name == "this method"
    assert method.result.fill_rate > 0.9


def test_a_short_history_is_refused(demo_path):
    engine = open_database(str(demo_path))
    with open_reader(engine) as session, pytest.raises(BadInput, match="too short"):
        play_backtest(session, LowStockQuestion(date(2024, 6, 1)))
    engine.dispose()


def test_simple_rules_are_turned_until_they_serve_as_much(answer):
    """By the two figures of a rule: served as the method did, so more pieces held is worse."""
    names = [rule.name for rule in answer.equal]
    assert len(names) == len(set(names)) == 3
    today = answer.equal[2]
    assert today.held.mean_pieces_held > answer.rules[0].result.mean_pieces_held
    assert today.turned_to == f"times {today.held.turn:.1f}"


def test_the_method_is_turned_down_to_what_other_rules_serve(answer):
    by_name = {rule.name: rule for rule in answer.rules}
    half_year = by_name["order up to 6 months of the mean"]
    assert 0 < half_year.method_held.mean_pieces_held < half_year.result.mean_pieces_held
    assert half_year.method_held.mean_pieces_held < answer.rules[0].result.mean_pieces_held
    assert by_name["order up to 1 month of the mean"].method_held is None
