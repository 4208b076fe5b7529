"""Wedge geometry. Expected figures: radius per gap by the tangent of half the included angle."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.lost_gap import lost_gap
from kb.mechanics.wedge import (
    ContactEdge,
    flank_mismatch,
    groove_radius_change_mm,
    radius_change_mm,
    seat_radius_mm,
    washer_radius_change_mm,
)


@pytest.mark.parametrize(("angle", "per_mm"), [(26.0, 2.166), (28.0, 2.005), (30.0, 1.866), (32.0, 1.744)])
def test_radius_per_millimetre_of_gap(angle: float, per_mm: float) -> None:
    """Source: exact geometry; a table of tangents gives the same."""
    assert groove_radius_change_mm(1.0, angle) == pytest.approx(per_mm, abs=0.0005)
    assert washer_radius_change_mm(1.0, angle) == pytest.approx(-per_mm, abs=0.0005)


@given(st.floats(-5.0, 5.0), st.floats(10.0, 60.0))
def test_a_symmetric_groove_is_two_equal_flanks(change: float, angle: float) -> None:
    two_flanks = radius_change_mm(change, angle / 2.0, flank_2_deg=angle / 2.0)
    assert groove_radius_change_mm(change, angle) == pytest.approx(two_flanks, abs=1e-12)


@given(st.floats(10.0, 30.0), st.floats(10.0, 30.0), st.floats(10.0, 60.0), st.floats(0.1, 5.0))
def test_worn_width_and_wider_gap_lower_the_seat_alike(
    width: float, gap: float, angle: float, lost: float
) -> None:
    narrower = seat_radius_mm(width - lost, gap, angle_deg=angle, gap_radius_mm=48.5)
    wider_gap = seat_radius_mm(width, gap + lost, angle_deg=angle, gap_radius_mm=48.5)
    seat = seat_radius_mm(width, gap, angle_deg=angle, gap_radius_mm=48.5)
    assert narrower == pytest.approx(wider_gap)
    assert narrower - seat == pytest.approx(groove_radius_change_mm(-lost, angle))


def test_a_gap_as_wide_as_the_belt_seats_it_where_the_gap_was_read() -> None:
    assert seat_radius_mm(17.0, 17.0, angle_deg=28.0, gap_radius_mm=48.5) == pytest.approx(48.5)


@pytest.mark.parametrize(
    ("belt", "groove", "edge"),
    [(30.0, 28.0, ContactEdge.TOP), (28.0, 30.0, ContactEdge.BOTTOM), (28.0, 28.0, ContactEdge.BOTH)],
)
def test_edge_that_carries(belt: float, groove: float, edge: ContactEdge) -> None:
    assert flank_mismatch(belt, groove, thickness_mm=9.0).contact_edge is edge


@pytest.mark.parametrize("angle", [0.0, 180.0, -28.0, float("nan")])
def test_angles_that_no_groove_has_are_refused(angle: float) -> None:
    with pytest.raises(BadInput, match="does not lie between"):
        groove_radius_change_mm(1.0, angle)
    with pytest.raises(BadInput):
        radius_change_mm(1.0, angle / 2.0, flank_2_deg=14.0)
    with pytest.raises(BadInput):
        flank_mismatch(angle, 28.0, thickness_mm=9.0)


def test_a_washer_or_belt_without_thickness_is_refused() -> None:
    with pytest.raises(BadInput):
        washer_radius_change_mm(0.0, 28.0)
    with pytest.raises(BadInput):
        seat_radius_mm(0.0, 17.0, angle_deg=28.0, gap_radius_mm=48.5)
    with pytest.raises(BadInput):
        flank_mismatch(28.0, 28.0, thickness_mm=0.0)


def test_no_lost_width_changes_nothing() -> None:
    change = lost_gap(260.0, 775.4336, full_drive_radius_mm=44.996, angle_deg=28.0, lost_width_mm=0.0)
    assert change.ratio_before == change.ratio_after
    assert change.speed_change_percent == 0.0


def test_more_width_lost_than_the_radius_has_is_refused() -> None:
    with pytest.raises(BadInput):
        lost_gap(260.0, 775.4336, full_drive_radius_mm=44.996, angle_deg=28.0, lost_width_mm=25.0)
