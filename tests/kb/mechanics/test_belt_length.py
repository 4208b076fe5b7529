"""Belt length, its inverses and refusals. Expected figures: geometry, or the perimeter of a convex hull."""

from math import pi, tau

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Point, unary_union

from kb.errors import BadInput
from kb.mechanics.belt_length import (
    convert_belt_length_mm,
    driven_radius_mm,
    hull_length_mm,
    inside_length_mm,
    is_length_kind_suspect,
    open_belt_length_mm,
    other_radius_mm,
    pitch_length_mm,
    radii_for_ratio_mm,
    short_form_length_mm,
    wrap_angles_rad,
)
from kb.terms import LengthKind

CENTRES = st.floats(100.0, 400.0)
RADII = st.floats(5.0, 90.0)


@given(CENTRES, RADII, RADII)
def test_length_is_the_perimeter_of_the_convex_hull(centre: float, first: float, second: float) -> None:
    """Source: shapely."""
    discs = [Point(0, 0).buffer(first, quad_segs=512), Point(centre, 0).buffer(second, quad_segs=512)]
    perimeter = unary_union(discs).convex_hull.length
    assert open_belt_length_mm(centre, first, driven_radius_mm=second) == pytest.approx(perimeter, abs=0.002)


@given(CENTRES, RADII, RADII, st.floats(0.001, 5.0))
def test_length_rises_with_each_radius(centre: float, first: float, second: float, more: float) -> None:
    length = open_belt_length_mm(centre, first, driven_radius_mm=second)
    assert open_belt_length_mm(centre, first + more, driven_radius_mm=second) > length
    assert open_belt_length_mm(centre, first, driven_radius_mm=second + more) > length


@given(CENTRES, RADII, RADII)
def test_driven_radius_is_the_inverse_of_length(centre: float, first: float, second: float) -> None:
    length = open_belt_length_mm(centre, first, driven_radius_mm=second)
    assert driven_radius_mm(centre, length, drive_radius_mm=first) == pytest.approx(second, abs=1e-6)
    assert driven_radius_mm(centre, length, drive_radius_mm=second) == pytest.approx(first, abs=1e-6)


@given(CENTRES, st.floats(5.0, 60.0), st.floats(0.3, 3.0))
def test_radii_for_ratio_are_the_inverse_of_length(centre: float, first: float, ratio: float) -> None:
    assume(abs(ratio - 1.0) * first < 0.99 * centre)
    length = open_belt_length_mm(centre, first, driven_radius_mm=ratio * first)
    drive, driven = radii_for_ratio_mm(centre, length, ratio=ratio)
    assert drive == pytest.approx(first, abs=1e-6)
    assert driven == pytest.approx(ratio * first, abs=1e-6)


@given(CENTRES, RADII, RADII)
def test_wrap_angles_add_to_a_turn(centre: float, first: float, second: float) -> None:
    assert sum(wrap_angles_rad(centre, first, driven_radius_mm=second)) == pytest.approx(tau)


@given(CENTRES, RADII, RADII)
def test_short_form_is_never_longer_than_the_exact_length(centre: float, first: float, second: float) -> None:
    exact = open_belt_length_mm(centre, first, driven_radius_mm=second)
    assert short_form_length_mm(centre, first, driven_radius_mm=second) <= exact + 1e-9


@pytest.mark.parametrize("difference", [39.999, 40.0, 40.001])
def test_one_circle_inside_the_other_is_refused(difference: float) -> None:
    if difference < 40.0:
        assert open_belt_length_mm(40.0, 10.0, driven_radius_mm=10.0 + difference) > 0.0
        return
    for refused in (open_belt_length_mm, short_form_length_mm, wrap_angles_rad):
        with pytest.raises(BadInput, match="lie inside the other"):
            refused(40.0, 10.0, driven_radius_mm=10.0 + difference)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_sizes_that_no_measurement_gives_are_refused(bad: float) -> None:
    for sizes in ((bad, 30.0, 30.0), (200.0, bad, 30.0), (200.0, 30.0, bad)):
        with pytest.raises(BadInput, match="not a number above zero"):
            open_belt_length_mm(sizes[0], sizes[1], driven_radius_mm=sizes[2])
    with pytest.raises(BadInput):
        driven_radius_mm(bad, 600.0, drive_radius_mm=30.0)
    with pytest.raises(BadInput):
        driven_radius_mm(200.0, bad, drive_radius_mm=30.0)
    with pytest.raises(BadInput):
        radii_for_ratio_mm(200.0, 600.0, ratio=bad)
    with pytest.raises(BadInput):
        radii_for_ratio_mm(200.0, bad, ratio=1.5)


def test_hull_of_a_circle_inside_another_is_the_larger_circle() -> None:
    assert hull_length_mm(40.0, 10.0, driven_radius_mm=55.0) == pytest.approx(tau * 55.0)
    assert hull_length_mm(40.0, 55.0, driven_radius_mm=15.0) == pytest.approx(tau * 55.0)


def test_driven_radius_is_refused_outside_what_the_circuit_allows() -> None:
    """Shortest: the driven radius shrinks to nothing. Longest: the drive circle lies inside."""
    shortest = hull_length_mm(200.0, 30.0, driven_radius_mm=0.0)
    assert driven_radius_mm(200.0, shortest + 0.01, drive_radius_mm=30.0) == pytest.approx(0.0, abs=0.01)
    assert driven_radius_mm(200.0, tau * 230.0 - 0.01, drive_radius_mm=30.0) == pytest.approx(230.0, abs=0.1)
    for length in (400.0, shortest, tau * 230.0):
        with pytest.raises(BadInput, match="does not lie between"):
            driven_radius_mm(200.0, length, drive_radius_mm=30.0)


def test_drive_radius_larger_than_the_centre_distance_still_has_an_inverse() -> None:
    length = open_belt_length_mm(100.0, 120.0, driven_radius_mm=21.0)
    assert driven_radius_mm(100.0, length, drive_radius_mm=120.0) == pytest.approx(21.0, abs=1e-6)


def test_other_radius_beyond_the_open_belt_is_that_of_the_larger_circle() -> None:
    assert other_radius_mm(40.0, tau * 60.0, radius_mm=10.0) == pytest.approx(60.0)


def test_other_radius_stays_put_where_the_length_cannot_tell() -> None:
    """With the second circle just inside the first the belt no longer notices its radius."""
    assert other_radius_mm(40.0, tau * 60.0, radius_mm=60.0) == pytest.approx(20.0, abs=1e-3)


@pytest.mark.parametrize(("length", "ratio"), [(400, 1.0), (400, 2.0), (tau * 400, 2.0), (tau * 400, 0.5)])
def test_ratio_is_refused_outside_what_the_circuit_allows(length: float, ratio: float) -> None:
    with pytest.raises(BadInput, match="cannot give the ratio"):
        radii_for_ratio_mm(200.0, length, ratio=ratio)


@pytest.mark.parametrize(
    ("kind", "to", "change"),
    [
        (LengthKind.OUTSIDE, LengthKind.OUTSIDE, 0.0),
        (LengthKind.OUTSIDE, LengthKind.PITCH, -2.0 * pi * 2.0),
        (LengthKind.PITCH, LengthKind.OUTSIDE, 2.0 * pi * 2.0),
        (LengthKind.OUTSIDE, LengthKind.INSIDE, -2.0 * pi * 8.5),
        (LengthKind.INSIDE, LengthKind.PITCH, 2.0 * pi * 6.5),
    ],
)
def test_a_line_moved_by_x_changes_by_two_pi_x(kind: LengthKind, to: LengthKind, change: float) -> None:
    """Source: Steiner's formula for parallel curves."""
    converted = convert_belt_length_mm(788.0, kind, to=to, thickness_mm=8.5, cord_depth_mm=2.0)
    assert converted == pytest.approx(788.0 + change)


def test_length_kinds_agree_with_the_unchecked_forms() -> None:
    assert pitch_length_mm(788.0, 2.0) == pytest.approx(775.4336, abs=1e-4)
    assert inside_length_mm(788.0, 8.5) == pytest.approx(734.5929, abs=1e-4)


@pytest.mark.parametrize(
    ("to", "field"), [(LengthKind.PITCH, "cord_depth_mm"), (LengthKind.INSIDE, "thickness_mm")]
)
def test_a_depth_that_is_not_known_is_not_guessed(to: LengthKind, field: str) -> None:
    with pytest.raises(BadInput, match=field) as refusal:
        convert_belt_length_mm(788.0, LengthKind.OUTSIDE, to=to)
    assert refusal.value.field == field


def test_absurd_depths_are_refused() -> None:
    with pytest.raises(BadInput):
        convert_belt_length_mm(788.0, LengthKind.OUTSIDE, to=LengthKind.INSIDE, thickness_mm=-1.0)
    with pytest.raises(BadInput):
        convert_belt_length_mm(788.0, LengthKind.OUTSIDE, to=LengthKind.INSIDE, thickness_mm=200.0)


@pytest.mark.parametrize(
    ("difference", "thickness", "suspect"),
    [
        (44.9, None, False),
        (45.0, None, True),
        (-60.0, None, True),
        (60.1, None, False),
        (53.4, 8.5, True),
        (48.3, 8.5, False),
        (58.5, 8.5, False),
    ],
)
def test_lengths_that_differ_as_outside_and_inside_do_are_suspect(
    difference: float, thickness: float | None, suspect: bool
) -> None:
    """An 8.5 mm belt is 53.4 mm shorter inside; the bands are judgement of this project."""
    assert is_length_kind_suspect(difference, thickness) is suspect
