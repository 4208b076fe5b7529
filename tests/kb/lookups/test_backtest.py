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
    covers = [rule.result for rule in answer.rules if "months of the mean" in rule.name]
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
