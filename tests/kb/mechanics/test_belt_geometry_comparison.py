"""Comparison of belts in a made-up circuit. The limits are judgement of this project, no source."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.mechanics.belt_geometry_comparison import (
    GeometryComparison,
    GeometryFinding,
    GeometryLimits,
    compare_in_drive,
)
from kb.mechanics.drive_range import Belt, Drive, Pulley, find_range
from kb.mechanics.fit_class import FitClass

ENGINE = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
CLUTCH = Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)
DRIVE = Drive(260.0, ENGINE, CLUTCH)
NEED = Belt(788.0, 17.0, 28.0, 8.5, 2.0)
SAME, USABLE, NOT = FitClass.SAME_SIZE, FitClass.USABLE, FitClass.DOES_NOT_FIT
WIDE = {"slack_at_rest_usable_mm": 1e3, "driven_edge_usable_mm": 1e3, "ratio_usable_percent": 1e3}


def finding_of(answer: GeometryComparison, name: str) -> GeometryFinding:
    return next(finding for finding in answer.findings if finding.name == name)


def test_every_test_is_shown_with_its_limit() -> None:
    answer = compare_in_drive(DRIVE, NEED, NEED)
    assert [(finding.name.value, finding.limit, finding.unit) for finding in answer.findings] == [
        ("cannot be mounted", 0.0, "mm"),
        ("never gripped", 0.0, "mm"),
        ("slack at full shift", 0.0, "mm"),
        ("slack at rest", 1.0, "mm"),
        ("above drive outer edge", 0.0, "mm"),
        ("above driven outer edge", 0.5, "mm"),
        ("flank angle mismatch", 0.5, "deg"),
        ("low ratio changed", 3.0, "%"),
        ("high ratio changed", 3.0, "%"),
        ("bottoms on boss", 0.0, "mm"),
        ("limited by driven pulley", 0.0, "mm"),
    ]
    assert answer.reasons == ()
    assert answer.top_speed_change_percent == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"length_mm": 700.0}, "cannot be mounted"),
        ({"length_mm": 900.0}, "slack at full shift"),
        ({"thickness_mm": 34.0}, "never gripped"),
    ],
)
def test_belt_that_does_not_drive_has_no_ratio_tests(change: dict[str, float], name: str) -> None:
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, **change))
    assert answer.fit_class is NOT
    assert name in answer.reasons
    assert answer.top_speed_change_percent is None
    assert answer.low_ratio_change_percent is None
    assert "low ratio changed" not in [finding.name.value for finding in answer.findings]


@pytest.mark.parametrize(
    ("angle", "fit_class", "limit"),
    [(28.5, SAME, 0.5), (28.51, USABLE, 0.5), (26.0, USABLE, 0.5), (30.0, USABLE, 0.5), (30.01, NOT, 2.0)],
)
def test_flank_angle_limits(angle: float, fit_class: FitClass, limit: float) -> None:
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, angle_deg=angle))
    assert answer.fit_class is fit_class
    assert finding_of(answer, "flank angle mismatch").limit == limit


def test_the_worse_of_two_pulleys_counts_for_the_angle() -> None:
    drive = replace(DRIVE, driven=replace(CLUTCH, angle_deg=29.0))
    finding = finding_of(compare_in_drive(drive, NEED, NEED), "flank angle mismatch")
    assert finding.value == pytest.approx(1.0)
    assert finding.fit_class is USABLE


@pytest.mark.parametrize(
    ("outer_radius", "fit_class"),
    [(46.99596, SAME), (46.995, USABLE), (45.99596, USABLE), (45.995, NOT)],
)
def test_drive_edge_limits(outer_radius: float, fit_class: FitClass) -> None:
    """The top face stands at 46.995957 mm at full shift; 0 mm proud is the same size, 1 mm usable."""
    drive = replace(DRIVE, drive=replace(ENGINE, outer_radius_mm=outer_radius))
    answer = compare_in_drive(drive, NEED, NEED)
    assert finding_of(answer, "above drive outer edge").fit_class is fit_class
    assert answer.fit_class is fit_class


@pytest.mark.parametrize(
    ("outer_radius", "need_length", "fit_class"),
    [
        (58.6214, 770.0, SAME),
        (58.621, 770.0, USABLE),
        (57.1214, 770.0, USABLE),
        (57.121, 770.0, NOT),
        (57.121, 788.0, SAME),
    ],
)
def test_driven_edge_limits(outer_radius: float, need_length: float, fit_class: FitClass) -> None:
    """The top face stands at 59.121303 mm at rest; 0.5 mm proud, or as proud as the need, is the same."""
    drive = replace(DRIVE, driven=replace(CLUTCH, outer_radius_mm=outer_radius))
    answer = compare_in_drive(drive, replace(NEED, length_mm=need_length), NEED)
    assert finding_of(answer, "above driven outer edge").fit_class is fit_class


@pytest.mark.parametrize(
    ("asked_slack", "need_slack", "fit_class"),
    [
        (0.99, 0.0, SAME),
        (1.01, 0.0, USABLE),
        (5.99, 0.0, USABLE),
        (6.01, 0.0, NOT),
        (4.0, 4.0, SAME),
        (4.01, 4.0, USABLE),
        (7.0, 7.0, SAME),
    ],
)
def test_slack_at_rest_limits(asked_slack: float, need_slack: float, fit_class: FitClass) -> None:
    """1 mm of slack, or as much as the needed belt has, is the same size."""
    need = replace(NEED, length_mm=SLACK_STARTS_MM + need_slack)
    asked = replace(NEED, length_mm=SLACK_STARTS_MM + asked_slack)
    finding = finding_of(compare_in_drive(DRIVE, need, asked), "slack at rest")
    assert finding.value == pytest.approx(asked_slack, abs=1e-3)
    assert finding.fit_class is fit_class


# Hull of circles of 22.736123 and 61.009433 mm, 260 mm apart (shapely), plus 4π mm for 2 mm of cord depth.
SLACK_STARTS_MM = 801.305059


@pytest.mark.parametrize(("limit_percent", "fit_class"), [(6.2, SAME), (6.1, USABLE)])
def test_low_ratio_limits(limit_percent: float, fit_class: FitClass) -> None:
    """Half a millimetre narrower raises the low ratio by 6.17 % and the high ratio by 5.22 %."""
    limits = GeometryLimits(ratio_same_percent=limit_percent)
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, top_width_mm=16.5), limits)
    finding = finding_of(answer, "low ratio changed")
    assert finding.fit_class is fit_class
    assert finding.limit == limit_percent


@pytest.mark.parametrize(("limit_percent", "fit_class"), [(5.23, USABLE), (5.21, NOT)])
def test_high_ratio_limits(limit_percent: float, fit_class: FitClass) -> None:
    limits = GeometryLimits(ratio_usable_percent=limit_percent)
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, top_width_mm=16.5), limits)
    assert finding_of(answer, "high ratio changed").fit_class is fit_class


def test_ratio_changes_count_both_ways_and_keep_their_sign() -> None:
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, top_width_mm=18.0))
    finding = finding_of(answer, "low ratio changed")
    assert finding.value == pytest.approx(-10.9, abs=0.05)
    assert finding.fit_class is NOT
    assert answer.low_ratio_change_percent == finding.value
    assert answer.top_speed_change_percent == pytest.approx(10.9, abs=0.05)


def test_bottoming_is_told_only_if_the_needed_belt_does_not() -> None:
    worn = replace(NEED, top_width_mm=15.0)
    limits = GeometryLimits(**WIDE)
    assert "bottoms on boss" in compare_in_drive(DRIVE, NEED, worn, limits).reasons
    assert "bottoms on boss" not in compare_in_drive(DRIVE, worn, worn, limits).reasons


def test_another_end_of_travel_is_told() -> None:
    short = replace(NEED, length_mm=770.0)
    answer = compare_in_drive(DRIVE, NEED, short, GeometryLimits(**WIDE))
    assert "limited by driven pulley" in answer.reasons
    assert finding_of(answer, "limited by driven pulley").fit_class is USABLE
    assert compare_in_drive(DRIVE, short, short).reasons == ()


@pytest.mark.parametrize(
    ("field", "name"),
    [
        ("length_mm", "outer length"),
        ("top_width_mm", "top width"),
        ("angle_deg", "included angle"),
        ("thickness_mm", "thickness"),
        ("cord_depth_mm", "cord depth"),
    ],
)
def test_missing_size_of_the_asked_belt_is_named(field: str, name: str) -> None:
    answer = compare_in_drive(DRIVE, NEED, replace(NEED, **{field: None}))
    assert answer.fit_class is FitClass.CANNOT_TELL
    assert answer.measure == (name,)
    assert answer.need_range is not None
    assert answer.asked_range is None


def test_missing_size_of_the_needed_belt_is_named() -> None:
    answer = compare_in_drive(DRIVE, replace(NEED, thickness_mm=None), NEED)
    assert answer.fit_class is FitClass.CANNOT_TELL
    assert (answer.measure, answer.need_measure) == ((), ("thickness",))
    assert compare_in_drive(DRIVE, replace(NEED, angle_deg=None), NEED).fit_class is SAME


def test_a_drive_that_contradicts_its_own_belt_tells_nothing() -> None:
    answer = compare_in_drive(DRIVE, replace(NEED, length_mm=700.0), NEED)
    assert answer.fit_class is FitClass.CANNOT_TELL
    assert answer.measure == ("pulley geometry",)


def test_need_range_may_be_handed_in() -> None:
    asked = replace(NEED, top_width_mm=16.5)
    ready = compare_in_drive(DRIVE, NEED, asked, need_range=find_range(DRIVE, NEED))
    assert ready == compare_in_drive(DRIVE, NEED, asked)


def test_absurd_size_is_refused() -> None:
    with pytest.raises(BadInput):
        compare_in_drive(DRIVE, NEED, replace(NEED, length_mm=-788.0))


@st.composite
def drives_with_their_belt(draw: Any) -> tuple[Drive, Belt]:
    """A drive laid out round its belt, with the rims clear of it."""
    angle = draw(st.sampled_from([26.0, 28.0, 30.0, 32.0]))
    width = draw(st.floats(15.0, 30.0))
    engine = Pulley(angle, 60.0, 12.0, 40.0, width + 8.0, width - draw(st.floats(-2.0, 2.0)))
    clutch = Pulley(angle, 80.0, 15.0, 50.0, width + 12.0, width - draw(st.floats(1.0, 6.0)))
    drive = Drive(draw(st.floats(200.0, 300.0)), engine, clutch)
    return drive, Belt(draw(st.floats(650.0, 950.0)), width, angle, 8.0, 2.0)


@given(drives_with_their_belt())
def test_the_needed_belt_itself_is_the_same_size(case: tuple[Drive, Belt]) -> None:
    drive, belt = case
    answer = compare_in_drive(drive, belt, belt)
    assert answer.fit_class in {SAME, FitClass.CANNOT_TELL}
    assert (answer.fit_class is SAME) == find_range(drive, belt).is_driving


@given(st.floats(600.0, 1000.0), st.floats(12.0, 24.0), st.floats(22.0, 40.0), st.floats(6.0, 11.0))
def test_the_worst_finding_decides(length: float, width: float, angle: float, thickness: float) -> None:
    answer = compare_in_drive(DRIVE, NEED, Belt(length, width, angle, thickness, 2.0))
    classes = {finding.fit_class for finding in answer.findings}
    expected = NOT if NOT in classes else USABLE if USABLE in classes else SAME
    assert answer.fit_class is expected
    assert (answer.fit_class is SAME) == (answer.reasons == ())
