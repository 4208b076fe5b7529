"""Waiting for free freight, and filling an order up."""

from datetime import date

import pytest

from kb.rules.reorder.lot_size import Packing
from kb.rules.reorder.negative_binomial import Demand
from kb.rules.reorder.supplier_minimum import (
    ProposedLine,
    SupplierDecision,
    SupplierTerms,
    TopUpPart,
    compare_order_and_wait,
    compute_cost_of_waiting,
    compute_mean_review_days,
    find_top_up,
)


def make_line(position=1, quantity=10):
    return ProposedLine(Demand(6.0, 9.0), position, quantity, unit_cost_minor=1800, unit_margin_minor=900)


@pytest.mark.parametrize(
    ("terms", "decision", "pays", "text"),
    [
        (
            SupplierTerms(18000, 1500),
            SupplierDecision.ORDER,
            False,
            "Order now; the order is large enough for free freight.",
        ),
        (
            SupplierTerms(18001, 1500),
            SupplierDecision.ORDER,
            True,
            "Order now and pay 15.00 freight: waiting costs about 44.05 in margin.",
        ),
        (
            SupplierTerms(20000, 9000),
            SupplierDecision.WAIT,
            False,
            "Waiting for 20.00 more in value: waiting costs about 44.05 in margin, freight is 90.00.",
        ),
        (
            SupplierTerms(20000, None),
            SupplierDecision.NOT_KNOWN,
            False,
            "20.00 short of free freight and the freight is not known; waiting costs about 44.05 in margin. "
            "Decide by hand.",
        ),
        (
            SupplierTerms(None, None),
            SupplierDecision.ORDER,
            False,
            "Order now; no value for free freight is known.",
        ),
    ],
)
def test_order_waits_unless_waiting_costs_more_than_freight(terms, decision, pays, text):
    # By scipy: 9.00 · (loss(1) - loss(11)) = 44.055 with nbinom of mean 6, variance 9.
    answer = compare_order_and_wait([make_line()], terms)
    assert (answer.decision, answer.pays_freight, answer.text) == (decision, pays, text)
    assert answer.order_value_minor == 18000


def test_waiting_that_costs_as_much_as_the_freight_orders():
    # Three pieces are promised and none is here: three pieces save three times the margin.
    line = ProposedLine(Demand(0.0, 0.0), -3, 3, unit_cost_minor=100, unit_margin_minor=500)
    assert compute_cost_of_waiting([line]) == 1500
    assert compare_order_and_wait([line], SupplierTerms(10_000, 1500)).decision is SupplierDecision.ORDER
    assert compare_order_and_wait([line], SupplierTerms(10_000, 1501)).decision is SupplierDecision.WAIT


def test_supplier_without_lines_needs_nothing():
    answer = compare_order_and_wait([], SupplierTerms(40000, 1500))
    assert answer.decision is SupplierDecision.NOTHING_NEEDED
    assert answer.text == "Nothing is needed from this supplier."


def test_amounts_follow_the_decimals_of_the_currency():
    answer = compare_order_and_wait([make_line()], SupplierTerms(20000, 9000, decimals=0))
    assert answer.text.startswith("Waiting for 2000 more in value")


def make_part(number, position, cap=100, suggested=0, pack=1):
    return TopUpPart("own", number, Demand(6.0, 9.0), position, 1000, cap, Packing(pack), suggested)


def test_top_up_raises_the_service_only_as_far_as_needed():
    # Levels of mean 6, variance 9 by scipy: .965 → 12, .975 → 13, .985 → 14, .99 → 14.
    parts = [make_part("1", 11), make_part("2", 12)]
    first = find_top_up(parts, 1000)
    assert (first.service, first.order_value_minor) == (0.965, 1000)
    assert [(line.part_number, line.quantity) for line in first.lines] == [("1", 1)]
    assert find_top_up(parts, 1001).service == 0.975
    assert find_top_up(parts, 5000).service == 0.985
    assert find_top_up(parts, 5001) is None


def test_top_up_keeps_the_cover_cap_but_not_below_what_is_suggested_anyway():
    assert find_top_up([make_part("1", 11, cap=11)], 1000) is None
    kept = find_top_up([make_part("1", 9, cap=11, suggested=3)], 3000)
    assert [line.quantity for line in kept.lines] == [3]
    assert find_top_up([make_part("1", 11, cap=15, pack=10)], 1000) is None


def test_review_interval_is_the_mean_of_the_last_years_gaps():
    orders = [date(2024, 1, 1), date(2026, 2, 1), date(2026, 3, 15), date(2026, 2, 1), date(2026, 4, 2)]
    # 1 February to 2 April is 60 days in two gaps; the order of 2024 is too old.
    assert compute_mean_review_days(orders, date(2026, 4, 10), default_days=7) == 30
    assert compute_mean_review_days(orders[:2], date(2026, 4, 10), default_days=7) == 7
    assert compute_mean_review_days([date(2027, 1, 1)] * 3, date(2026, 4, 10), default_days=9) == 9
