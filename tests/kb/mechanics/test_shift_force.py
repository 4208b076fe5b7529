"""Forces in the drive. Expected figures: limits of the formulas, and scalings that follow from them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.shift_force import (
    RollerRamps,
    belt_axial_force_n,
    cam_axial_force_n,
    grip_ratio_limit,
    holding_speed_rpm,
    roller_axial_force_n,
    shift_speed_change_percent,
    shift_speed_rpm,
)

RAMPS = RollerRamps(39.0, 30.0, 30.0, 14.0)


def test_equal_tensions_are_the_limit_of_unequal_ones() -> None:
    constant = belt_axial_force_n(200.0, 200.0, wrap_deg=165.0, angle_deg=28.0)
    assert belt_axial_force_n(200.001, 199.999, wrap_deg=165.0, angle_deg=28.0) == pytest.approx(constant)


def test_straight_cam_groove_has_no_effect() -> None:
    assert cam_axial_force_n(20.0, 0.0, cam_radius_mm=20.0) == 0.0


@given(st.floats(50.0, 2000.0), st.floats(20.0, 60.0))
def test_rollers_at_their_holding_speed_give_the_force_that_holds(force: float, radius: float) -> None:
    """Equal pulleys have equal wraps, so that the roller force equals that on the driven pulley."""
    speed = holding_speed_rpm(
        RAMPS, force, centre_distance_mm=260.0, drive_radius_mm=radius, driven_radius_mm=radius
    )
    assert roller_axial_force_n(RAMPS, speed) == pytest.approx(force)


@pytest.mark.parametrize(("before", "after", "percent"), [(10.0, 9.0, 5.4), (7.0, 6.0, 8.0), (6.0, 6.0, 0.0)])
def test_lighter_rollers_raise_the_shift_speed(before: float, after: float, percent: float) -> None:
    """10 % lighter: square root of 1/0.9."""
    assert shift_speed_change_percent(before, after) == pytest.approx(percent, abs=0.05)
    assert shift_speed_rpm(1000.0, before, mass_after_g=after) == pytest.approx(
        1000.0 + 10.0 * percent, abs=0.5
    )


def test_grip_of_a_flat_belt_is_the_rope_friction_of_euler() -> None:
    """Published: belt friction, exp(0.3·π) = 2.5663; a 28° groove multiplies friction by 4.1336."""
    assert grip_ratio_limit(0.3, 180.0, angle_deg=179.999999) == pytest.approx(2.5663, abs=1e-4)
    assert grip_ratio_limit(0.3 / 4.13357, 180.0, angle_deg=28.0) == pytest.approx(2.5663, abs=1e-4)


def test_ramps_that_do_not_pinch_are_refused() -> None:
    with pytest.raises(BadInput):
        RollerRamps(39.0, 30.0, 10.0, -10.0)
    with pytest.raises(BadInput):
        RollerRamps(39.0, 30.0, 90.0, 14.0)


def test_values_out_of_range_are_refused() -> None:
    with pytest.raises(BadInput):
        shift_speed_rpm(6500.0, 7.0, mass_after_g=0.0)
    with pytest.raises(BadInput):
        belt_axial_force_n(0.0, 120.0, wrap_deg=165.0, angle_deg=28.0)
    with pytest.raises(BadInput):
        cam_axial_force_n(20.0, 90.0, cam_radius_mm=20.0)
    with pytest.raises(BadInput):
        holding_speed_rpm(RAMPS, -1.0, centre_distance_mm=260.0, drive_radius_mm=30.0, driven_radius_mm=30.0)
