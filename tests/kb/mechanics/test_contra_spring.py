"""Contra spring. Expected figures: textbook formulas (Shigley, from memory) worked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.contra_spring import (
    CompressionSpring,
    clamp_loss_percent,
    has_solid_reserve,
    is_coil_bound,
    preload_loss_percent,
    solid_length_mm,
    spring_force_n,
    spring_rate_n_per_mm,
)

SPRING = CompressionSpring(4.0, 52.0, 5.5)


def test_space_that_a_spring_needs() -> None:
    assert (SPRING.outer_diameter_mm, SPRING.inner_diameter_mm) == (56.0, 48.0)


@pytest.mark.parametrize(("mean_coil", "usual"), [(15.9, False), (16.0, True), (48.0, True), (48.1, False)])
def test_formulas_hold_between_an_index_of_4_and_12(mean_coil: float, usual: bool) -> None:
    assert CompressionSpring(4.0, mean_coil, 5.5).has_usual_index is usual


@given(st.floats(2.0, 6.0), st.floats(30.0, 70.0), st.floats(3.0, 12.0))
def test_rate_grows_with_the_fourth_power_of_wire(wire: float, coil: float, active: float) -> None:
    thick = spring_rate_n_per_mm(CompressionSpring(2.0 * wire, coil, active))
    assert thick == pytest.approx(16.0 * spring_rate_n_per_mm(CompressionSpring(wire, coil, active)))


@pytest.mark.parametrize(
    ("lost", "length", "percent"),
    [(0.0, 70.0, 0.0), (4.0, 70.0, 7.692), (4.0, 42.0, 5.0), (52.0, 70.0, 100.0), (60.0, 70.0, 100.0)],
)
def test_loss_is_greatest_at_the_longest_length(lost: float, length: float, percent: float) -> None:
    assert preload_loss_percent(122.0, lost, length_mm=length) == pytest.approx(percent, abs=0.001)


def test_spring_as_long_as_its_place_does_not_press() -> None:
    assert spring_force_n(3.2, 70.0, length_mm=70.0) == 0.0
    with pytest.raises(BadInput, match="would not press"):
        preload_loss_percent(70.0, 4.0, length_mm=70.0)


def test_whole_loss_counts_at_idle() -> None:
    assert clamp_loss_percent(7.69, 168.9, cam_force_n=0.0) == pytest.approx(7.69)
    with pytest.raises(BadInput):
        clamp_loss_percent(7.69, 0.0, cam_force_n=0.0)


def test_solid_length_counts_two_dead_coils_and_one_more_if_not_ground() -> None:
    assert solid_length_mm(SPRING) == 30.0
    assert solid_length_mm(SPRING, is_ground=False) == 34.0


@pytest.mark.parametrize(("shortest", "bound"), [(29.9, True), (30.0, True), (30.1, False)])
def test_coils_bind_at_the_solid_length(shortest: float, bound: bool) -> None:
    assert is_coil_bound(30.0, shortest) is bound


@pytest.mark.parametrize(("shortest", "enough"), [(41.9, False), (42.0, True), (42.1, True)])
def test_reserve_of_15_percent(shortest: float, enough: bool) -> None:
    """12 mm are 15 % of 80 mm of deflection; from memory: Shigley."""
    assert has_solid_reserve(30.0, shortest, free_length_mm=122.0) is enough


@pytest.mark.parametrize(
    "sizes", [(0.0, 52.0, 5.5), (4.0, 4.0, 5.5), (4.0, 52.0, 0.0), (4.0, 52.0, 5.5, 0.0), (4.0, -1.0, 5.5)]
)
def test_absurd_springs_are_refused(sizes: tuple[float, ...]) -> None:
    with pytest.raises(BadInput):
        CompressionSpring(*sizes)


def test_absurd_lengths_are_refused() -> None:
    with pytest.raises(BadInput):
        spring_force_n(3.2, 122.0, length_mm=0.0)
    with pytest.raises(BadInput):
        preload_loss_percent(122.0, -1.0, length_mm=70.0)
