"""Odd rollers: mean mass, shift speed, balance, refusal.

Shift speed goes with the root of need over mean (centrifugal force, plain physics). Imbalance of one heavy
roller among six equal ones: mass difference times radius (plain statics). Limits 10 and 40 g·mm: judgement of
this project.
"""

import pytest

from kb.errors import BadInput
from kb.rules.roller_set import RadiusBasis, RollerPlace, RollerState, judge_roller_set

NEED = {"need_mass_g": 7.0, "need_count": 6}


def test_alternating_masses_balance_and_shift_by_the_root_of_the_masses():
    found = judge_roller_set([7, 6, 7, 6, 7, 6], RollerPlace(**NEED))
    assert found.state is RollerState.FINE
    assert found.mean_mass_g == 6.5
    assert found.shift_speed_change_percent == pytest.approx(3.775, abs=1e-3)  # sqrt(7/6.5) - 1
    assert found.imbalance_g_mm == 0.0


def test_the_best_order_is_found_and_the_order_typed_is_told_apart():
    found = judge_roller_set([7, 7, 7, 6, 6, 6], RollerPlace(**NEED, radius_mm=38.0))
    assert found.order_masses_g == (7.0, 6.0, 7.0, 6.0, 7.0, 6.0)
    assert found.as_listed_g_mm == pytest.approx(76.0)
    assert found.imbalance_g_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("radius", "state"), [(9.99, "fine"), (10.0, "note"), (40.0, "note"), (40.01, "refused")]
)
def test_one_heavy_roller_is_judged_by_its_excess_times_the_radius(radius, state):
    found = judge_roller_set([7, 6, 6, 6, 6, 6], RollerPlace(**NEED, radius_mm=radius))
    assert found.imbalance_g_mm == pytest.approx(radius)
    assert found.state.value == state


def test_another_number_than_needed_is_refused():
    found = judge_roller_set([7, 7, 7], RollerPlace(**NEED))
    assert found.state is RollerState.REFUSED
    assert "needs 6" in found.reasons[0]


def test_without_a_radius_an_unbalanced_set_is_not_known():
    found = judge_roller_set([7, 6, 6, 6, 6, 6], RollerPlace(**NEED))
    assert (found.state, found.imbalance_g_mm) == (RollerState.NOT_KNOWN, None)
    assert found.radius_basis is RadiusBasis.NOT_KNOWN


@pytest.mark.parametrize(("outer", "state"), [(9.0, "fine"), (45.0, "not_known")])
def test_the_pulleys_rim_bounds_the_radius_but_never_refuses(outer, state):
    found = judge_roller_set([7, 6, 6, 6, 6, 6], RollerPlace(**NEED, outer_radius_mm=outer))
    assert found.state.value == state


def test_an_unknown_need_gives_no_shift_speed():
    found = judge_roller_set([7, 7, 7, 7, 7, 7], RollerPlace())
    assert found.shift_speed_change_percent is None
    assert "not known" in found.text


@pytest.mark.parametrize("masses", [[], [7.0, 7.0], [7.0] * 10, [7.0, 7.0, 0.0], [7.0, 7.0, -1.0]])
def test_sets_that_are_none_are_refused_with_a_sentence(masses):
    with pytest.raises(BadInput):
        judge_roller_set(masses, RollerPlace())
