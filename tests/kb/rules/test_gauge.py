"""Gauging around every limit: just under, on, just over, missing.

Sources: near the limit from 80 % used up to and including the limit (setting of the project); belt of 17 mm
replaced at about 15 mm, common practice, no source; measuring tolerances 0.1 mm on rubber, 0.05 mm on metal
and ± 0.2 mm for a new belt, judgement of the project. Engines are invented.
"""

import math

import pytest

from kb.errors import BadInput
from kb.rules.gauge import gauge_reading
from kb.rules.gauge_values import (
    GaugeAnswer,
    GaugeFindingCode,
    GaugeLimit,
    GaugeReading,
    GaugeState,
)
from kb.rules.source import SourceRef
from kb.terms import LimitSense, Position, SourceKind

MANUAL = SourceRef("manual-1", SourceKind.MANUAL, "Workshop manual")
BELT = GaugeLimit(17.0, 15.0, LimitSense.MIN, "mm", MANUAL)
BELL = GaugeLimit(107.0, 107.5, LimitSense.MAX, "mm", MANUAL)


def gauge(
    value: float,
    limit: GaugeLimit = BELT,
    position: Position = Position.DRIVE_BELT,
    quantity: str = "top_width",
) -> GaugeAnswer:
    return gauge_reading(GaugeReading("plover-50-s", position, quantity, value), limit)


def codes(answer: GaugeAnswer) -> list[GaugeFindingCode]:
    return [finding.code for finding in answer.findings]


@pytest.mark.parametrize(
    ("value", "state", "used_percent", "room"),
    [
        (17.0, "good", 0.0, 2.0),
        (16.0, "good", 50.0, 1.0),
        (15.41, "good", 79.5, 0.41),
        (15.4, "near_limit", 80.0, 0.4),
        (15.39, "near_limit", 80.5, 0.39),
        (15.01, "near_limit", 99.5, 0.01),
        (15.0, "near_limit", 100.0, 0.0),
        (14.99, "replace", 100.5, -0.01),
        (14.0, "replace", 150.0, -1.0),
    ],
)
def test_belt_width_around_80_percent_and_the_limit(
    value: float, state: str, used_percent: float, room: float
) -> None:
    answer = gauge(value)
    assert answer.state.value == state
    assert answer.used_percent == pytest.approx(used_percent)
    assert answer.room == pytest.approx(room)
    assert answer.source is MANUAL


@pytest.mark.parametrize(
    ("value", "state"),
    [(107.0, "good"), (107.39, "good"), (107.4, "near_limit"), (107.5, "near_limit"), (107.51, "replace")],
)
def test_bell_bore_grows_towards_its_limit(value: float, state: str) -> None:
    answer = gauge(value, BELL, Position.CLUTCH_BELL, "inside diameter")
    assert answer.state.value == state
    assert answer.quantity == "bore"


@pytest.mark.parametrize(
    ("value", "state", "found"),
    [
        (17.2, "good", []),
        (17.3, "good", []),  # ± 0.2 mm new and 0.1 mm of reading
        (17.31, "not_known", [GaugeFindingCode.LARGER_THAN_NEW]),
        (21.2, "not_known", [GaugeFindingCode.LARGER_THAN_NEW]),
        (21.3, "not_known", [GaugeFindingCode.LARGER_THAN_NEW, GaugeFindingCode.FAR_FROM_NEW]),
    ],
)
def test_belt_wider_than_new_is_another_belt_or_a_wrong_reading(
    value: float, state: str, found: list[GaugeFindingCode]
) -> None:
    answer = gauge(value)
    assert answer.state.value == state
    assert codes(answer) == found
    assert answer.used_percent == 0.0
    assert bool(answer.measure_next) is bool(found)


@pytest.mark.parametrize(("value", "state"), [(106.85, "good"), (106.84, "not_known")])
def test_bell_narrower_than_new_is_odd(value: float, state: str) -> None:
    """New metal part ± 0.1 mm, read to 0.05 mm."""
    answer = gauge(value, BELL, Position.CLUTCH_BELL, "bore")
    assert answer.state.value == state
    assert codes(answer) == ([] if state == "good" else [GaugeFindingCode.SMALLER_THAN_NEW])


@pytest.mark.parametrize(
    ("value", "nearly"),
    [(15.11, False), (15.1, True), (15.0, True), (14.9, True), (14.89, False)],
)
def test_reading_that_may_lie_on_either_side_of_the_limit_is_named(value: float, nearly: bool) -> None:
    answer = gauge(value)
    assert (GaugeFindingCode.AT_THE_LIMIT in codes(answer)) is nearly
    assert ("top_width" in [row.quantity for row in answer.measure_next]) is nearly


@pytest.mark.parametrize(
    ("value", "state", "words"),
    [
        (0.65, "not_known", "inches"),  # 0.65 in = 16.5 mm
        (1.65, "not_known", "decimal place"),
        (165.0, "not_known", "decimal place"),
        (8.0, "replace", "another part"),
        (0.0, "replace", "another part"),
    ],
)
def test_absurd_reading_is_called_so(value: float, state: str, words: str) -> None:
    answer = gauge(value)
    assert answer.state.value == state
    (far,) = [finding for finding in answer.findings if finding.code is GaugeFindingCode.FAR_FROM_NEW]
    assert words in far.text
    assert answer.consequences == ()
    assert answer.measure_next[0].quantity == "top_width"


def test_lining_worn_nearly_through_is_no_absurd_reading() -> None:
    lining = GaugeLimit(3.0, 1.0, LimitSense.MIN)
    answer = gauge(0.2, lining, Position.CLUTCH_SHOES, "lining")
    assert answer.state is GaugeState.REPLACE
    assert codes(answer) == []


@pytest.mark.parametrize(
    ("limit", "state", "quantities"),
    [
        (GaugeLimit(17.0, None, LimitSense.MIN), "not_known", ["limit"]),
        (GaugeLimit(None, 15.0, LimitSense.MIN), "not_known", ["nominal"]),
        (GaugeLimit(None, 16.0, LimitSense.MIN), "near_limit", ["nominal", "size"]),
        (GaugeLimit(None, 16.5, LimitSense.MIN), "replace", ["nominal"]),
        (GaugeLimit(None, 15.5, LimitSense.MAX), "replace", ["nominal"]),
        (GaugeLimit(None, 15.0, None), "not_known", ["nominal", "sense"]),
        (GaugeLimit(17.0, 15.0, None), "good", []),
        (GaugeLimit(15.0, 17.0, None), "good", []),
        (GaugeLimit(17.0, 15.0, LimitSense.MAX), "not_known", ["limit"]),
        (GaugeLimit(15.0, 17.0, LimitSense.MIN), "not_known", ["limit"]),
        (GaugeLimit(16.0, 16.0, LimitSense.MIN), "near_limit", ["size"]),
        (GaugeLimit(16.0, 16.0, None), "not_known", ["sense"]),
        (GaugeLimit(15.9, 15.9, LimitSense.MIN), "not_known", ["size"]),
        (GaugeLimit(), "not_known", ["limit"]),
    ],
)
def test_missing_or_contradictory_numbers_are_named(
    limit: GaugeLimit, state: str, quantities: list[str]
) -> None:
    answer = gauge(16.0, limit, quantity="size")
    assert answer.state.value == state
    assert [measurement.quantity for measurement in answer.measure_next] == quantities


def test_not_known_always_says_what_to_find_out() -> None:
    for limit in (GaugeLimit(), GaugeLimit(17.0), GaugeLimit(None, 15.0), BELT):
        for value in (0.6, 14.0, 16.0, 19.0):
            answer = gauge(value, limit)
            assert answer.state is not GaugeState.NOT_KNOWN or answer.measure_next


@pytest.mark.parametrize(
    ("part", "row", "good", "odd"),
    [
        ((Position.ROLLERS, "mass_g"), GaugeLimit(6.0, 5.4, LimitSense.MIN, "g"), 6.15, 6.16),
        ((Position.ROLLERS, "diameter"), GaugeLimit(16.0, 15.5, LimitSense.MIN), 16.15, 16.16),
        ((Position.ROLLERS, "diameter"), GaugeLimit(16.0, 15.5, LimitSense.MIN, None), 16.15, 16.16),
        ((Position.CONTRA_SPRING, "length"), GaugeLimit(122.0, 116.0, LimitSense.MIN), 124.94, 124.95),
        ((Position.CLUTCH_SHOES, "lining"), GaugeLimit(3.0, 1.0, LimitSense.MIN), 3.2, 3.21),
        ((Position.TORQUE_DRIVER, "slot_angle"), GaugeLimit(40.0, 38.0, LimitSense.MIN, "deg"), 40.8, 40.9),
    ],
)
def test_new_parts_may_lie_this_far_from_nominal(
    part: tuple[Position, str], row: GaugeLimit, good: float, odd: float
) -> None:
    """Judgement of the project: 0.15 mm metal, 0.15 g, 0.2 mm lining, springs 0.5 mm and 2 %, else 2 %."""
    assert gauge(good, row, *part).state is GaugeState.GOOD
    assert gauge(odd, row, *part).state is GaugeState.NOT_KNOWN


@pytest.mark.parametrize(
    ("value", "state", "found"),
    [
        (18.03, "good", []),
        (18.031, "not_known", [GaugeFindingCode.LARGER_THAN_NEW]),
        (17.96, "good", []),
        (17.95, "near_limit", [GaugeFindingCode.AT_THE_LIMIT]),
        (17.93, "replace", [GaugeFindingCode.AT_THE_LIMIT]),
    ],
)
def test_fine_allowance_is_held_to_a_micrometer(
    value: float, state: str, found: list[GaugeFindingCode]
) -> None:
    """Sleeve of 18 mm with 0.06 mm to wear: read to 0.01 mm, new within 0.02 mm (judgement)."""
    answer = gauge(value, GaugeLimit(18.0, 17.94, LimitSense.MIN), Position.DRIVE_BOSS, "outside")
    assert answer.state.value == state
    assert codes(answer) == found
    assert any("micrometer" in caution for caution in answer.cautions)


@pytest.mark.parametrize(("limit", "fine"), [(15.8, False), (15.81, True)])
def test_micrometer_is_asked_for_below_two_tenths_of_allowance(limit: float, fine: bool) -> None:
    answer = gauge(16.0, GaugeLimit(16.0, limit, LimitSense.MIN), Position.ROLLERS, "diameter")
    assert any("micrometer" in caution for caution in answer.cautions) is fine


@pytest.mark.parametrize("value", [-0.1, math.nan, math.inf])
def test_value_that_cannot_be_measured_is_refused(value: float) -> None:
    with pytest.raises(BadInput, match="measure it again"):
        gauge(value)


@pytest.mark.parametrize(("near_percent", "state"), [(50.0, "near_limit"), (50.1, "good")])
def test_share_that_counts_as_near_is_a_setting(near_percent: float, state: str) -> None:
    reading = GaugeReading("plover-50-s", Position.DRIVE_BELT, "top_width", 16.0)
    assert gauge_reading(reading, BELT, near_percent=near_percent).state.value == state


def test_on_the_limit_is_said_apart_and_a_doubted_reading_has_nothing_left() -> None:
    assert gauge(15.0).text.endswith(
        "limit 15 mm: on the limit, which is still allowed: plan the replacement."
    )
    assert " left" not in gauge(19.0).text
    assert "19 mm is 2 mm larger than new (17 mm); more than 0.3 mm means" in gauge(19.0).findings[0].text


def test_answer_reads_as_a_sentence() -> None:
    assert gauge(16.0).text == "Top width 16 mm, limit 15 mm, 1 mm left: inside the limit."
    assert gauge(14.0).text == "Top width 14 mm, limit 15 mm: beyond the limit: replace."
    assert gauge(16.0, GaugeLimit(unit=None)).text == (
        "Top width 16, no limit is known: no verdict from what is known."
    )


@pytest.mark.parametrize(
    ("position", "word"),
    [
        (Position.DRIVE_BELT, "dust"),
        (Position.CLUTCH_SHOES, "dust"),
        (Position.CONTRA_SPRING, "compressed"),
        (Position.CLUTCH_SPRINGS, "under tension"),
        (Position.GUIDE_PINS, "compressed"),
        (Position.ROLLERS, "manual"),
    ],
)
def test_answer_carries_the_caution_of_its_position_and_defers_to_the_manual(
    position: Position, word: str
) -> None:
    """Signal words after ANSI Z535.6 and ISO 3864, read second hand; cautions common practice, no source."""
    cautions = gauge(16.0, position=position, quantity="size").cautions
    assert word in cautions[0]
    assert cautions[-1].startswith("NOTICE: limits shown are a guide; the maker's manual")
    assert all(caution.split(":")[0] in {"DANGER", "WARNING", "CAUTION", "NOTICE"} for caution in cautions)
