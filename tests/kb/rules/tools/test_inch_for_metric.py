"""Sources: plain geometry, checked with shapely (a library); thresholds: judgement of this project."""

import math

import pytest
from shapely.affinity import rotate
from shapely.geometry import Polygon

from kb.errors import BadInput
from kb.rules.tools.inch_for_metric import (
    MEANING,
    MEASURE_TEXT,
    STAND_IN_ORDER,
    STRICTER_UNDER_POWER,
    HexFit,
    InchForMetricSettings,
    InchVerdict,
    free_turn_deg,
    rank_hex_fit,
    rank_inch_tool,
)
from kb.standards.inch_hexes import find_inch_hex


def hexagon(across_flats: float) -> Polygon:
    radius = across_flats / math.sqrt(3)
    corners = [math.radians(60 * corner) for corner in range(6)]
    return Polygon([(radius * math.cos(angle), radius * math.sin(angle)) for angle in corners])


@pytest.mark.parametrize(
    ("nut_mm", "opening_mm"), [(37.0, 38.6), (16.73, 17.75), (7.78, 8.153), (3.82, 4.14), (24.0, 24.01)]
)
def test_free_turn_is_where_a_turned_hexagon_touches_its_opening(nut_mm, opening_mm):
    # shapely: the nut still lies inside just below the angle and no longer just above it
    angle = free_turn_deg(nut_mm, opening_mm)
    nut, opening = hexagon(nut_mm), hexagon(opening_mm)
    assert opening.contains(rotate(nut, angle - 0.01, origin=(0, 0)))
    assert not opening.contains(rotate(nut, angle + 0.01, origin=(0, 0)))


@pytest.mark.parametrize(
    ("nut_mm", "opening_mm", "angle"),
    [
        (10.0, 9.99, 0.0),  # does not go in
        (10.0, 10.0, 0.0),  # no play
        (10.0, 11.54, 28.01),  # just below 1.1547 s
        (10.0, 11.56, 30.0),  # above 1.1547 s: slips round (plain geometry)
        (10.0, 20.0, 30.0),
    ],
)
def test_free_turn_ends_at_no_play_and_at_slipping_round(nut_mm, opening_mm, angle):
    assert free_turn_deg(nut_mm, opening_mm) == pytest.approx(angle, abs=0.01)


@pytest.mark.parametrize(
    ("opening", "verdict"),
    [  # nut 37 to 38, right tool opens to 38.6; each class just below and on its limit
        ((36.8, 36.99), "no_go"),
        ((36.8, 37.0), "tight_try"),
        ((37.7, 37.99), "tight_try"),
        ((37.7, 38.0), "try"),
        ((37.99, 38.5), "try"),
        ((38.0, 38.5), "equal"),
        ((38.3, 38.6), "equal"),
        ((38.3, 38.61), "near"),
        # right tool 4.619 degrees; limits 5.081 and 5.773 degrees, reached at openings of 38.746 and
        # 38.961 mm (solved with scipy brentq)
        ((38.3, 38.74), "near"),
        ((38.3, 38.75), "loose_hand_only"),
        ((38.3, 38.95), "loose_hand_only"),
        ((38.3, 38.97), "reject"),
        ((38.3, 45.0), "reject"),
    ],
)
def test_each_class_begins_at_its_limit(opening, verdict):
    smallest, largest = opening
    assert rank_hex_fit(HexFit(37.0, 38.0, smallest, largest, 38.6)) == verdict


def test_limits_are_settings():
    fit = HexFit(37.0, 38.0, 38.3, 38.7, 38.6)
    assert rank_hex_fit(fit) == "near"
    strict = InchForMetricSettings(near_factor=1.0, loose_factor=1.1)
    assert rank_hex_fit(fit, strict) == "loose_hand_only"


@pytest.mark.parametrize(
    ("measured_mm", "verdict"),
    [  # 1-1/2 in opens 38.303 to 38.608 (ASME B18.2.2, published), the 38 mm tool to 38.6
        (38.2, "near"),
        (38.0, "near"),
        (37.0, "near"),
    ],
)
def test_measured_nut_is_judged_by_its_own_size_and_not_told_to_measure(measured_mm, verdict):
    answer = rank_inch_tool(38.0, find_inch_hex(38.1), measured_mm=measured_mm)
    assert answer.verdict == verdict
    assert (answer.fit.nut_smallest_mm, answer.fit.nut_largest_mm) == (measured_mm, measured_mm)
    assert not answer.measure
    assert MEASURE_TEXT not in answer.text


@pytest.mark.parametrize(
    ("measured_mm", "verdict"),
    [  # 15/16 in opens 23.978 to 24.206 (ASME B18.2.2, published), the 24 mm tool to 24.36
        (24.1, "try"),
        (24.0, "try"),
        (23.97, "equal"),
        (23.7, "equal"),
    ],
)
def test_measuring_settles_a_doubtful_pair(measured_mm, verdict):
    assert rank_inch_tool(24.0, find_inch_hex(23.81)).verdict == "try"
    assert rank_inch_tool(24.0, find_inch_hex(23.81), measured_mm=measured_mm).verdict == verdict


@pytest.mark.parametrize("measured_mm", [36.49, 38.21, 0.0, -38.0, math.nan])
def test_measured_size_of_another_nut_is_refused(measured_mm):
    with pytest.raises(BadInput, match=r"does not belong to a 38 mm nut; accepted is 36\.5 to 38\.2 mm"):
        rank_inch_tool(38.0, find_inch_hex(38.1), measured_mm=measured_mm)


@pytest.mark.parametrize("measured_mm", [36.5, 38.2])
def test_measured_size_at_the_limit_is_accepted(measured_mm):
    assert rank_inch_tool(38.0, find_inch_hex(38.1), measured_mm=measured_mm) is not None


@pytest.mark.parametrize(
    ("metric_mm", "inch_mm", "by_hand", "under_power"),
    [  # impact sockets open wider than hand sockets (from memory): one step stricter
        (27.0, 26.99, "equal", "near"),
        (38.0, 38.1, "near", "loose_hand_only"),
        (24.0, 23.81, "try", "loose_hand_only"),
        (39.0, 38.1, "tight_try", "loose_hand_only"),
        (15.0, 15.08, "loose_hand_only", "reject"),
        (17.0, 17.46, "reject", "reject"),
        (10.0, 9.525, "no_go", "no_go"),
    ],
)
def test_impact_tool_is_judged_one_step_stricter(metric_mm, inch_mm, by_hand, under_power):
    inch = find_inch_hex(inch_mm)
    assert rank_inch_tool(metric_mm, inch).verdict == by_hand
    answer = rank_inch_tool(metric_mm, inch, under_power=True)
    assert answer.verdict == under_power
    assert "impact tool on a" in answer.text


@pytest.mark.parametrize("metric_mm", [25.0, 3.0, 90.0])
def test_size_without_a_known_metric_tool_gets_no_verdict(metric_mm):
    assert rank_inch_tool(metric_mm, find_inch_hex(25.4)) is None


def test_unconfirmed_sources_stand_in_the_answer():
    source = rank_inch_tool(38.0, find_inch_hex(38.1)).source
    assert "ASME B18.2.2 published table" in source
    assert "from memory, not confirmed" in source
    assert "judgement of this project" in source


def test_rejected_tool_is_told_not_to_be_used():
    answer = rank_inch_tool(17.0, find_inch_hex(17.46))
    assert answer.text.startswith("The 11/16 in tool on a 17 mm nut is too loose and rounds the corners")
    assert "do not use it" in answer.text


def test_every_verdict_has_a_meaning_and_a_step_under_power():
    assert set(MEANING) == set(STRICTER_UNDER_POWER) == set(InchVerdict)
    assert set(InchVerdict) - set(STAND_IN_ORDER) == {InchVerdict.NO_GO, InchVerdict.REJECT}
