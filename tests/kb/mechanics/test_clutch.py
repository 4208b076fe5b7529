"""Centrifugal clutch. Expected figures: scalings of the textbook model (numbers: the check values)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.clutch import (
    Clutch,
    ClutchShoe,
    engagement_after_force_change_rpm,
    engagement_after_rating_change_rpm,
    engagement_rpm,
    engagement_spread_rpm,
    engine_speed_at_engagement_rpm,
    first_movement_rpm,
    is_creeping,
    lock_up_rpm,
    power_capacity_kw,
    torque_capacity_nm,
)

SHOE = ClutchShoe(160.0, 42.0, 160.0, 1.5, 20.0)
CLUTCH = Clutch(SHOE, 3, 53.5, 0.35)


def test_shoe_without_clearance_engages_when_it_moves() -> None:
    shoe = ClutchShoe(160.0, 42.0, 160.0)
    assert engagement_rpm(shoe) == first_movement_rpm(shoe)


@given(st.floats(0.0, 60.0))
def test_torque_held_at_lock_up_is_the_torque_asked(torque: float) -> None:
    assert torque_capacity_nm(CLUTCH, lock_up_rpm(CLUTCH, torque)) == pytest.approx(torque, abs=1e-6)


def test_weakest_spring_decides_creep_and_the_spread_judder() -> None:
    """Engagement grows with the root of the force at contact: 190 N and 190/1.21 N, a tenth apart."""
    weak = ClutchShoe(160.0, 42.0, 190.0 / 1.21 - 30.0, 1.5, 20.0)
    lowest, highest = engagement_spread_rpm([SHOE, weak, SHOE])
    assert highest == pytest.approx(engagement_rpm(SHOE))
    assert highest / lowest == pytest.approx(1.1)
    with pytest.raises(BadInput):
        engagement_spread_rpm([])


def test_lock_up_of_no_torque_is_engagement() -> None:
    assert lock_up_rpm(CLUTCH, 0.0) == pytest.approx(engagement_rpm(SHOE))


@pytest.mark.parametrize(("more_rpm", "holds"), [(-1.0, False), (1.0, True)])
def test_no_torque_up_to_engagement(more_rpm: float, holds: bool) -> None:
    speed = engagement_rpm(SHOE) + more_rpm
    assert (torque_capacity_nm(CLUTCH, speed) > 0.0) is holds
    assert (power_capacity_kw(CLUTCH, speed) > 0.0) is holds


@pytest.mark.parametrize(("idle", "creeps"), [(3944.0, False), (3945.0, True)])
def test_machine_creeps_from_the_engagement_speed_on(idle: float, creeps: bool) -> None:
    """1577.77 r/min of clutch through a ratio of 2.5 are 3944.4 r/min of engine."""
    assert is_creeping(idle, 2.5, clutch_engagement_rpm=engagement_rpm(SHOE)) is creeps


def test_creep_at_exactly_the_engagement_speed() -> None:
    assert is_creeping(2000.0, 2.5, clutch_engagement_rpm=800.0)


@pytest.mark.parametrize(("after", "percent"), [(130.0, 14.0), (81.0, -10.0)])
def test_engagement_grows_with_the_root_of_spring_force(after: float, percent: float) -> None:
    """+30 % of force, +14 %; -19 %, -10 %."""
    speed = engagement_after_force_change_rpm(1000.0, 100.0, force_after_n=after)
    assert speed == pytest.approx(1000.0 + 10.0 * percent, abs=0.5)


@pytest.mark.parametrize(
    "sizes", [(0.0, 42.0, 160.0), (160.0, 0.0, 160.0), (160.0, 42.0, -1.0), (160.0, 42.0, 1.0, -1.0)]
)
def test_absurd_shoes_are_refused(sizes: tuple[float, ...]) -> None:
    with pytest.raises(BadInput):
        ClutchShoe(*sizes)


def test_absurd_clutches_and_questions_are_refused() -> None:
    with pytest.raises(BadInput):
        Clutch(SHOE, 0, 53.5, 0.35)
    with pytest.raises(BadInput):
        Clutch(SHOE, 3, 53.5, 0.0)
    with pytest.raises(BadInput):
        lock_up_rpm(CLUTCH, -1.0)
    with pytest.raises(BadInput):
        engine_speed_at_engagement_rpm(1600.0, 0.0)
    with pytest.raises(BadInput):
        is_creeping(1700.0, 0.0, clutch_engagement_rpm=1578.0)
    with pytest.raises(BadInput):
        engagement_after_force_change_rpm(3000.0, 0.0, force_after_n=130.0)
    with pytest.raises(BadInput):
        engagement_after_rating_change_rpm(2900.0, 1000.0, rating_after_rpm=0.0)
