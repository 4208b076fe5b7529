"""Roller sets. Expected figures: the published "balanced centrifuge" rule, and every subset with numpy."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.rollers import (
    BalanceClass,
    BalanceLimits,
    best_order,
    best_slots,
    classify_imbalance,
    imbalance_g_mm,
    is_balance_possible,
    list_balanced_counts,
    mean_mass_g,
)


@pytest.mark.parametrize("slots", [2, 3, 4, 5, 6, 7, 8, 9, 10, 12])
def test_prime_divisor_rule_agrees_with_trying_every_subset(slots: int) -> None:
    """Source: numpy, first harmonic of every subset."""
    roots = np.exp(2j * np.pi * np.arange(slots) / slots)
    possible = tuple(
        heavy
        for heavy in range(slots + 1)
        if min(abs(roots[list(choice)].sum()) for choice in combinations(range(slots), heavy)) < 1e-9
    )
    assert list_balanced_counts(slots) == possible


@pytest.mark.parametrize(
    ("slots", "heavy", "residual", "count"),
    [
        (3, 1, 1.0, 3),
        (6, 3, 0.0, 2),
        (6, 5, 1.0, 6),
        (8, 2, 0.0, 4),
        (8, 4, 0.0, 6),
        (8, 6, 0.0, 4),
        (8, 7, 1.0, 8),
    ],
)
def test_best_slots(slots: int, heavy: int, residual: float, count: int) -> None:
    """Source: table of arrangements verified by trying every subset."""
    plan = best_slots(slots, heavy)
    assert plan.residual == pytest.approx(residual)
    assert len(plan.arrangements) == count


@pytest.mark.parametrize("heavy", [3, 5])
def test_three_or_five_of_eight_leave_a_residual_of_0_414(heavy: int) -> None:
    """Spacing 3-2-3 leaves the square root of two less one; an opposite pair plus one would leave 1."""
    plan = best_slots(8, heavy)
    assert plan.residual == pytest.approx(0.41421, abs=1e-5)
    slots = set(plan.arrangements[0]) if heavy == 3 else set(range(1, 9)) - set(plan.arrangements[0])
    places = sorted(slots)
    assert sorted([places[1] - places[0], places[2] - places[1], places[0] + 8 - places[2]]) == [2, 3, 3]


def test_alternating_and_opposite_arrangements() -> None:
    assert best_slots(6, 3).arrangements == ((1, 3, 5), (2, 4, 6))
    assert best_slots(6, 0).arrangements == ((),)


@pytest.mark.parametrize(
    ("imbalance", "action"),
    [
        (9.99, BalanceClass.FINE),
        (10.0, BalanceClass.NOTE),
        (40.0, BalanceClass.NOTE),
        (40.01, BalanceClass.REARRANGE),
    ],
)
def test_class_of_an_imbalance(imbalance: float, action: BalanceClass) -> None:
    """Judgement of this project: under 10 g·mm fine, 10 to 40 note it, over 40 rearrange."""
    assert classify_imbalance(imbalance) is action


def test_balance_limits_are_settings() -> None:
    assert classify_imbalance(20.0, BalanceLimits(fine_g_mm=30.0)) is BalanceClass.FINE


@given(st.lists(st.floats(3.0, 20.0), min_size=2, max_size=6))
def test_best_order_uses_every_roller_once_and_is_no_worse_than_the_list(masses: list[float]) -> None:
    order = best_order(masses, 38.0)
    assert sorted(order.positions) == list(range(1, len(masses) + 1))
    assert order.positions[0] == 1
    assert order.masses_g == tuple(masses[place - 1] for place in order.positions)
    assert order.imbalance_g_mm <= imbalance_g_mm(masses, 38.0) + 1e-6
    assert order.imbalance_g_mm == pytest.approx(imbalance_g_mm(order.masses_g, 38.0), abs=1e-6)


@given(st.integers(2, 12), st.floats(3.0, 20.0))
def test_equal_rollers_are_balanced(count: int, mass: float) -> None:
    assert imbalance_g_mm([mass] * count, 38.0) == pytest.approx(0.0, abs=1e-9)
    assert mean_mass_g([mass] * count) == pytest.approx(mass)


def test_eight_rollers_are_ordered_completely() -> None:
    """Four heavy and four light of eight can be balanced: two opposite pairs."""
    assert best_order([7, 7, 7, 7, 6, 6, 6, 6], 38.0).imbalance_g_mm == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("slots", "heavy"), [(1, 0), (6, -1), (6, 7)])
def test_counts_out_of_range_are_refused(slots: int, heavy: int) -> None:
    with pytest.raises(BadInput, match="count"):
        is_balance_possible(slots, heavy)
    with pytest.raises(BadInput):
        best_slots(slots, heavy)


def test_more_rollers_than_can_be_tried_are_refused() -> None:
    assert best_slots(16, 1).residual == pytest.approx(1.0)
    with pytest.raises(BadInput, match="above 16"):
        best_slots(17, 1)
    with pytest.raises(BadInput, match="above 9"):
        best_order([6.0] * 10, 38.0)


def test_no_roller_or_a_weightless_one_is_refused() -> None:
    with pytest.raises(BadInput, match="empty"):
        mean_mass_g([])
    with pytest.raises(BadInput):
        imbalance_g_mm([6.0, 0.0], 38.0)
    with pytest.raises(BadInput):
        best_order([6.0, 6.0], 0.0)
