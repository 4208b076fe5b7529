"""Playing levels against the past."""

from math import ceil

import pytest

from kb.errors import BadInput
from kb.rules.reorder.backtest import (
    BacktestPart,
    BacktestSetup,
    MonthLevels,
    iterate_method_demand,
    list_cover_levels,
    list_fixed_levels,
    list_method_levels,
    run_backtest,
)
from kb.rules.reorder.demand_rate import (
    compute_demand_over,
    compute_demand_rate,
    compute_demand_sums,
    fit_part_type_prior,
)


def test_fixed_level_is_played_month_by_month():
    # By hand, lead 1, level 2, played from month 0, counted from month 2:
    # month 0 asks 1: shelf 2 → 1. Month 1 orders 1, asks 2: serves 1, 1 waits. Month 2: last month's 1
    # comes for the waiting one, orders 2; asks 1: serves 0, 1 waits. Month 3: 2 come, 1 waiting, shelf 1;
    # orders 1; asks 0: shelf 1. Month 4: 1 comes, shelf 2; asks 1: serves 1, shelf 1.
    part = BacktestPart("belt", (1, 2, 1, 0, 1), 300)
    setup = BacktestSetup(first_month=0, lead_months=1)
    result = run_backtest([part], setup, levels=list_fixed_levels([2], [part], setup))
    assert (result.pieces_asked, result.pieces_served) == (2, 1)
    assert result.fill_rate == 0.5
    assert result.mean_pieces_held == pytest.approx(2 / 3)
    assert result.mean_value_held_minor == pytest.approx(200.0)
    assert result.order_lines == 2


def test_without_lead_time_the_shelf_is_full_every_month():
    part = BacktestPart("belt", (3, 1, 3, 2))
    setup = BacktestSetup(first_month=0, lead_months=0)
    result = run_backtest([part], setup, levels=list_fixed_levels([3], [part], setup))
    assert result.fill_rate == 1.0
    assert result.mean_pieces_held == pytest.approx((2 + 0 + 1) / 3)


def test_order_goes_out_only_under_the_order_mark():
    part = BacktestPart("belt", (1, 1, 1, 1))
    setup = BacktestSetup(first_month=0, lead_months=0)
    levels = [MonthLevels((4,), (3,))] * 4
    # By hand: shelf 3, then 2, then at 2 it orders up to 4: 3, then 2; months 1 to 3 count.
    result = run_backtest([part], setup, levels=levels)
    assert result.order_lines == 1
    assert result.mean_pieces_held == pytest.approx((2 + 3 + 2) / 3)
    assert result.fill_rate == 1.0


def test_fill_rate_is_none_when_nothing_was_asked_for():
    part = BacktestPart("belt", (0, 0, None, 0))
    setup = BacktestSetup(0, 0)
    assert run_backtest([part], setup, levels=list_fixed_levels([1], [part], setup)).fill_rate is None


def test_hand_rule_rounds_the_last_twelve_months_mean_up():
    part = BacktestPart("belt", (9, *[1] * 12, 4, 0, None))
    launched = BacktestPart("belt", (*[None] * 14, 3, 3))
    setup = BacktestSetup(first_month=13, lead_months=0)
    levels = list_cover_levels([part, launched], setup, months_of_cover=2.0)
    # Means 12/12, 15/12, 14/12; the other part is not yet on sale, then sold 3 a month.
    assert [row.up_to for row in levels] == [(2, 0), (3, 0), (3, 6)]


def test_method_sees_only_the_months_before(synthetic_demand):
    parts = [BacktestPart(part_type, tuple(months)) for part_type, months in synthetic_demand]
    shortened = [BacktestPart(p.part_type, p.pieces_by_month[:40]) for p in parts]
    setup = BacktestSetup(36, 2)
    whole = list(iterate_method_demand(parts, setup))
    assert whole[:4] == list(iterate_method_demand(shortened, setup))


def test_method_demand_equals_the_rates_made_at_once(synthetic_demand):
    months_by_part = [months for part_type, months in synthetic_demand if part_type == "roller_set"]
    parts = [BacktestPart("roller_set", tuple(months)) for months in months_by_part]
    first = next(iter(iterate_method_demand(parts, BacktestSetup(48, 1))))
    sums = [
        compute_demand_sums(
            [pieces or 0 for pieces in months[:48]],
            [0.0 if pieces is None else 1.0 for pieces in months[:48]],
        )
        for months in months_by_part
    ]
    prior = fit_part_type_prior(sums)
    expected = [compute_demand_over(compute_demand_rate(known, prior), 2.0) for known in sums]
    assert [d.mean for d in first] == pytest.approx([d.mean for d in expected])
    assert [d.variance for d in first] == pytest.approx([d.variance for d in expected])


def play_method(parts, setup, service):
    return run_backtest(parts, setup, levels=list_method_levels(parts, setup, service=service))


def test_season_ahead_serves_more_with_less_on_the_shelf(synthetic_demand):
    # Made-up demand with a season: shows the mechanism, proves nothing about real shops.
    parts = [BacktestPart(part_type, tuple(months), 100) for part_type, months in synthetic_demand]
    seasonal = play_method(parts, BacktestSetup(36, 1, first_calendar_month=1), 0.93)
    flat = play_method(parts, BacktestSetup(36, 1), 0.95)
    assert seasonal.fill_rate > flat.fill_rate
    assert seasonal.mean_value_held_minor < 0.9 * flat.mean_value_held_minor


def test_levels_made_anew_each_month_beat_levels_set_once(synthetic_demand):
    parts = [BacktestPart(part_type, tuple(months), 100) for part_type, months in synthetic_demand]
    setup = BacktestSetup(36, 1)
    first_means = [
        sum(pieces or 0 for pieces in part.pieces_by_month[:36])
        / max(sum(pieces is not None for pieces in part.pieces_by_month[:36]), 1)
        for part in parts
    ]
    levels = [ceil(6 * mean) for mean in first_means]
    fixed = run_backtest(parts, setup, levels=list_fixed_levels(levels, parts, setup))
    method = play_method(parts, setup, 0.9)
    assert method.fill_rate > fixed.fill_rate
    assert method.mean_pieces_held < fixed.mean_pieces_held


@pytest.mark.parametrize(
    "parts",
    [
        [],
        [BacktestPart("belt", (1,) * 26)],
        [BacktestPart("belt", (1,) * 40), BacktestPart("belt", (1,) * 41)],
    ],
)
def test_histories_that_cannot_be_played_are_refused(parts):
    with pytest.raises(BadInput, match="cannot be played"):
        list_method_levels(parts, BacktestSetup(24, 1))


@pytest.mark.parametrize("levels", [[], [MonthLevels(())] * 4])
def test_levels_that_do_not_belong_to_the_history_are_refused(levels):
    with pytest.raises(BadInput, match="a level for each part in each month"):
        run_backtest([BacktestPart("belt", (1, 1, 1, 1))], BacktestSetup(0, 0), levels=levels)
