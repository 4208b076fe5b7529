"""Which offer a part is ordered by: yearly cost worked out by hand from the textbook formulas."""

from datetime import date

import pytest
from scipy.stats import nbinom

from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.equivalents import Offer
from kb.rules.reorder.lot_size import LotCosts, Packing
from kb.rules.reorder.offer_choice import find_quicker_offer, format_quicker_offer, rank_offers
from kb.rules.reorder.season import FLAT_SEASON
from kb.rules.reorder.stock_group import StockPolicy

TODAY = date(2026, 4, 1)
POLICY = StockPolicy(lot_costs=LotCosts(50, 0.25))
NEAR = Offer("near", 1100, Packing(), 4)
FAR = Offer("far", 1000, Packing(5, 10), 35)


def rank(rate_per_month: float, *offers: Offer, own_months: float = 9.0, policy: StockPolicy = POLICY):
    rate = DemandRate(rate_per_month, 1.2, own_months, 1.0)
    return rank_offers(offers, rate, season=FLAT_SEASON, policy=policy, today=TODAY)


def names(ranked):
    return [item.offer.supplier for item in ranked]


def test_the_year_costs_pieces_lines_and_what_is_held():
    """Snyder & Shen, 2nd ed., section 3.2: c·D + K·D/Q + i·c·(Q/2), and the pieces kept beyond the mean.

    Two a month: 24 a year at 11.00, 0.50 a line, 25 % a year; the lot is the square root of
    2 * 0.5 * 24 / 2.75, 2.95, so 3. Ahead lie 11 days of April, 11/30 of a month; level by scipy.
    """
    (found,) = rank(2.0, NEAR)
    mean = 2.0 * 11 / 30
    variance = 1.2 * mean * (1 + 11 / 30 / 10)
    level = nbinom(mean**2 / (variance - mean), mean / variance).ppf(0.95)
    assert found.quantity == 3
    assert found.cost_per_year_minor == pytest.approx(
        24 * 1100 + 50 * 24 / 3 + 0.25 * 1100 * (1.5 + level - mean)
    )


def test_cheap_packs_from_far_away_win_for_what_sells_and_lose_for_what_hardly_does():
    assert names(rank(6.0, NEAR, FAR)) == ["far", "near"]
    assert names(rank(0.3, NEAR, FAR)) == ["near", "far"]


def test_an_untried_part_is_tried_with_the_least_money():
    ranked = rank(6.0, FAR, NEAR, own_months=0.0)
    assert names(ranked) == ["near", "far"]
    assert [item.cost_per_year_minor for item in ranked] == [1100.0, 10000.0]


def test_offers_without_price_or_time_follow():
    unpriced, untimed = Offer("unpriced", None, Packing(), 2), Offer("untimed", 10)
    assert names(rank(6.0, unpriced, untimed, NEAR)) == ["near", "unpriced", "untimed"]


def test_without_costs_the_order_given_stays():
    assert names(rank(0.3, FAR, NEAR, policy=StockPolicy())) == ["far", "near"]


def test_the_quickest_other_offer_is_named_where_it_saves_days():
    medium = Offer("medium", 1050, Packing(), 10)
    assert find_quicker_offer(FAR, [medium, NEAR]) is NEAR
    assert find_quicker_offer(Offer("near too", 1100, Packing(), 6), [NEAR]) is None
    assert find_quicker_offer(Offer("untimed", 10), [NEAR]) is None
    assert format_quicker_offer(Offer("yen", 300, Packing(2, 3), 4), currency="JPY") == (
        "yen takes 4 days, at 300 JPY each, 4 at least: for what cannot wait."
    )
