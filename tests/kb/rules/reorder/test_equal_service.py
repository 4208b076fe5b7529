"""Rules turned until they serve as much: shares and pieces counted by hand."""

from math import ceil

import pytest
from scipy.stats import poisson

from kb.rules.reorder.backtest import BacktestPart, BacktestSetup, run_backtest
from kb.rules.reorder.equal_service import find_held_at, turn_cover, turn_fixed, turn_service
from kb.rules.reorder.negative_binomial import Demand

SETUP = BacktestSetup(first_month=0, lead_months=0)
# Counted are months 1 to 3: 9 pieces asked for.
PART = BacktestPart("belt", (3, 1, 3, 5), 200)


def test_a_share_between_two_turns_is_read_between_them():
    """By hand, months 1 to 3: level 2 serves 1 + 2 + 2 = 5 of 9 and holds 1, level 3 serves 7 and holds 2."""
    found = find_held_at([PART], SETUP, knob=turn_fixed([1], [PART], SETUP), most=5.0, fill_rate=6 / 9)
    assert found.mean_pieces_held == pytest.approx((1 + 2) / 2 / 3)
    assert found.mean_value_held_minor == pytest.approx(200 * (1 + 2) / 2 / 3)
    assert found.turn == pytest.approx(2.0, abs=0.01)


def test_a_share_that_is_never_reached_is_none():
    assert find_held_at([PART], SETUP, knob=turn_fixed([1], [PART], SETUP), most=4.0, fill_rate=1.0) is None
    assert find_held_at([PART], SETUP, knob=turn_fixed([1], [PART], SETUP), most=5.0, fill_rate=1.0)


def test_cover_is_turned_in_months_of_the_year_before():
    parts = [BacktestPart("belt", (0, 4, *[2] * 4))]
    setup = BacktestSetup(first_month=2, lead_months=0)
    first, second, *_ = turn_cover(parts, setup)(1.4)
    assert first.up_to == (ceil(1.4 * 4 / 2),)
    assert second.up_to == (ceil(1.4 * 6 / 3),)
    both = turn_cover(parts, setup, is_min_max=True)(1.4)[0]
    assert (both.order_under, both.up_to) == ((3,), (6,))


@pytest.mark.parametrize(("turn", "service", "level"), [(0.0, 0.5, 2), (1.0, 0.9995, 7)])
def test_service_is_turned_from_a_half_to_almost_all(turn, service, level):
    """Source of the levels: scipy's Poisson of mean 1.7."""
    assert poisson(1.7).ppf(service) == level
    assert turn_service([[Demand(1.7, 1.7)]])(turn)[0].up_to == (level,)
    assert turn_service([[Demand(1.7, 1.7)]], least=20)(turn)[0].up_to == (20,)


def test_the_turn_that_is_found_serves_what_was_asked_for(synthetic_demand):
    """Made-up demand of the parts that were on sale all the time; a step of one piece is 0.1 % of it."""
    parts = [BacktestPart(kind, tuple(pieces)) for kind, pieces in synthetic_demand if None not in pieces]
    setup = BacktestSetup(36, 1)
    knob = turn_cover(parts, setup)
    found = find_held_at(parts, setup, knob=knob, most=30.0, fill_rate=0.95)
    played = run_backtest(parts, setup, levels=knob(found.turn))
    assert played.fill_rate == pytest.approx(0.95, abs=0.005)
    assert played.mean_pieces_held == pytest.approx(found.mean_pieces_held, rel=0.02)
