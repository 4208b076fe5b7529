"""Belts by size and through the drive.

Limits by size and in the drive: documented limits of this project (judgement). Expected changes of ratio and
speed: the made-up circuit of centre distance 260 mm with a belt 788 x 17 x 28, whose figures were worked out
from the exact belt length (Shigley, flexible elements) and checked by a second route.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.mechanics.drive_range import Drive, Pulley
from kb.rules.fit.belt import BeltJudge
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import BeltNeed, DriveData, Judgement, PartSize
from kb.rules.source import SourceRef
from kb.terms import SourceKind

SOURCE = SourceRef("book", SourceKind.MANUAL, "Service book")
NEED = BeltNeed(SOURCE, 788.0, "outside", 17.0, 28.0, 8.5)
DRIVE = DriveData(
    SOURCE,
    Drive(260.0, Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75), Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)),
    cord_depth_mm=2.0,
)
SAME = PartSize(length_mm=788.0, length_kind="outside", top_width_mm=17.0, angle_deg=28.0, thickness_mm=8.5)


def judge(
    asked: PartSize, *, need: BeltNeed = NEED, drive: DriveData | None = None, limits: FitLimits | None = None
) -> Judgement:
    return BeltJudge(need, drive, limits or FitLimits()).judge(asked)


def list_measured(judged: Judgement) -> list[str]:
    return [item.quantity for item in judged.measure_next]


def find_change(judged: Judgement, quantity: str) -> float | None:
    return next(item.change_percent for item in judged.consequences if item.quantity == quantity)


@pytest.mark.parametrize(
    ("change", "outcome", "firm"),
    [
        ({"length_mm": 790.0}, "fits", True),
        ({"length_mm": 790.1}, "fits_with_change", False),
        ({"length_mm": 783.0}, "fits_with_change", False),
        ({"length_mm": 782.9}, "not_known", False),
        ({"length_mm": 773.0}, "not_known", False),
        ({"length_mm": 772.9}, "does_not_fit", True),
        ({"top_width_mm": 16.7}, "fits", True),
        ({"top_width_mm": 16.6}, "fits_with_change", False),
        ({"top_width_mm": 18.0}, "fits_with_change", False),
        ({"top_width_mm": 18.1}, "not_known", False),
        ({"top_width_mm": 19.0}, "not_known", False),
        ({"top_width_mm": 19.1}, "does_not_fit", True),
        ({"angle_deg": 28.5}, "fits", True),
        ({"angle_deg": 28.6}, "not_known", False),
        ({"angle_deg": 30.0}, "not_known", False),
        ({"angle_deg": 30.1}, "does_not_fit", True),
        ({"thickness_mm": 9.0}, "fits", True),
        ({"thickness_mm": 9.1}, "fits_with_change", False),
        ({"thickness_mm": 9.1, "length_mm": 783.0}, "does_not_fit", True),
    ],
)
def test_limits_by_size(change: dict[str, float], outcome: str, firm: bool) -> None:
    judged = judge(replace(SAME, **change))
    assert (judged.kind, judged.outcome, judged.is_firm) == ("size", outcome, firm)


def test_what_refuses_a_belt_of_another_thickness_and_length_is_among_the_reasons() -> None:
    judged = judge(replace(SAME, thickness_mm=9.1, length_mm=783.0))
    said = {str(reason.rule): str(reason.outcome) for reason in judged.reasons}
    assert (said["belt.thickness"], said["belt.length"]) == ("does_not_fit", "fits_with_change")
    alone = judge(replace(SAME, thickness_mm=9.1))
    assert [str(reason.outcome) for reason in alone.reasons if reason.rule == "belt.thickness"] == [
        "fits_with_change"
    ]


def test_known_number_that_does_not_fit_wins_over_a_missing_one() -> None:
    judged = judge(PartSize(length_mm=788.0, length_kind="outside", top_width_mm=20.0))
    assert judged.outcome == "does_not_fit"
    judged = judge(PartSize(length_mm=788.0, length_kind="pitch", top_width_mm=20.0, angle_deg=28.0))
    assert judged.outcome == "does_not_fit"


@pytest.mark.parametrize("missing", ["length_mm", "top_width_mm", "angle_deg"])
def test_missing_number_is_not_known_and_named(missing: str) -> None:
    for drive in (None, DRIVE):
        judged = judge(replace(SAME, **{missing: None}), drive=drive)
        assert judged.outcome == "not_known"
        assert list_measured(judged) == [missing]
        assert "belt asked about" in judged.measure_next[0].text


def test_number_missing_in_the_need_is_to_be_measured_on_the_engines_own_belt() -> None:
    judged = judge(SAME, need=replace(NEED, angle_deg=None))
    assert judged.outcome == "not_known"
    assert list_measured(judged) == ["angle_deg"]
    assert "engine's own belt" in judged.measure_next[0].text


def test_stated_length_kinds_that_differ_are_not_known() -> None:
    for drive in (None, DRIVE):
        judged = judge(replace(SAME, length_kind="inside"), drive=drive)
        assert (judged.kind, judged.outcome) == ("size", "not_known")
        assert "length_kind" in list_measured(judged)


def test_length_without_kind_is_outside_and_a_caution_says_so() -> None:
    judged = judge(replace(SAME, length_kind=None))
    assert judged.outcome == "fits"
    assert any("without La, Lp or Li" in text for text in judged.cautions)
    judged = judge(SAME, need=replace(NEED, length_kind=None))
    assert judged.outcome == "fits"
    assert any("read as outside" in text for text in judged.cautions)
    assert not any("read as outside" in text for text in judge(SAME).cautions)


def test_two_pitch_lengths_are_compared_in_the_drive() -> None:
    pitch_mm = (
        788.0 - 2 * math.pi * 2.0
    )  # parallel curves differ in length by 2 pi times the distance (Steiner)
    need = replace(NEED, length_mm=pitch_mm, length_kind="pitch")
    judged = judge(replace(SAME, length_mm=pitch_mm, length_kind="pitch"), need=need, drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("geometry", "fits")
    assert find_change(judged, "top_speed") == 0.0


def test_usable_by_size_alone_asks_for_the_pulleys() -> None:
    judged = judge(replace(SAME, length_mm=784.0))
    assert judged.outcome == "fits_with_change"
    assert list_measured(judged) == ["drive"]
    assert find_change(judged, "top_speed") == 3.6  # 0.9 % per mm, low confidence
    assert "low confidence" in judged.consequences[0].text


def test_undecided_by_size_asks_for_the_pulleys_only_where_they_are_not_known() -> None:
    assert list_measured(judge(replace(SAME, length_mm=780.0))) == ["drive"]
    asked = replace(SAME, length_mm=780.0, angle_deg=None)
    assert list_measured(judge(asked)) == ["angle_deg", "drive"]
    assert list_measured(judge(asked, drive=DRIVE)) == ["angle_deg"]


@pytest.mark.parametrize(
    ("width_mm", "outcome", "low_percent", "top_percent"),
    [
        (16.7, "fits_with_change", 3.6, -3.0),
        (17.3, "fits_with_change", -3.5, 3.1),
        (16.5, "fits_with_change", 6.2, -5.0),
        (16.0, "does_not_fit", 12.9, -9.6),
        (18.0, "does_not_fit", -10.9, 10.9),
    ],
)
def test_width_through_the_drive(
    width_mm: float, outcome: str, low_percent: float, top_percent: float
) -> None:
    judged = judge(replace(SAME, top_width_mm=width_mm), drive=DRIVE)
    assert (judged.kind, judged.outcome, judged.is_firm) == ("geometry", outcome, True)
    assert find_change(judged, "low_ratio") == pytest.approx(low_percent, abs=0.06)
    assert find_change(judged, "top_speed") == pytest.approx(top_percent, abs=0.06)


@pytest.mark.parametrize(
    ("length_mm", "outcome", "top_percent"),
    [
        (786.0, "fits", 1.8),
        (783.0, "fits_with_change", 4.7),
        (793.0, "fits_with_change", -4.3),
        (778.0, "fits_with_change", 9.9),
    ],
)
def test_length_through_the_drive(length_mm: float, outcome: str, top_percent: float) -> None:
    judged = judge(replace(SAME, length_mm=length_mm), drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("geometry", outcome)
    assert find_change(judged, "top_speed") == pytest.approx(top_percent, abs=0.06)


@pytest.mark.parametrize(
    "change", [{"length_mm": 803.1}, {"top_width_mm": 14.9}, {"angle_deg": 30.1}, {"angle_deg": 25.9}]
)
def test_too_far_off_does_not_fit_by_size_whatever_the_ratios_say(change: dict[str, float]) -> None:
    judged = judge(replace(SAME, **change), drive=DRIVE)
    assert (judged.kind, judged.outcome, judged.is_firm) == ("size", "does_not_fit", True)


def test_another_thickness_alone_is_left_to_the_drive() -> None:
    judged = judge(replace(SAME, thickness_mm=9.5, length_mm=785.0), drive=DRIVE)
    assert judged.kind == "geometry"
    assert judged.outcome != "does_not_fit"


def test_thickness_and_cord_depth_that_are_filled_in_are_said() -> None:
    judged = judge(replace(SAME, thickness_mm=None), drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("geometry", "fits")
    assert any("8.5 mm of the engine's own belt" in text for text in judged.cautions)
    assert any("2 mm of the engine's drive" in text for text in judged.cautions)
    judged = judge(replace(SAME, thickness_mm=None), drive=replace(DRIVE, cord_depth_mm=None))
    assert any("cord depth is not known; 2 mm was used" in text for text in judged.cautions)


def test_thickness_is_said_by_size_as_well() -> None:
    assert any(
        "8.5 mm of the engine's own" in text for text in judge(replace(SAME, thickness_mm=None)).cautions
    )
    judged = judge(SAME, need=replace(NEED, thickness_mm=None))
    assert judged.outcome == "fits"
    assert any("not compared" in text for text in judged.cautions)


def test_drive_without_the_thickness_of_the_own_belt_is_judged_by_size() -> None:
    judged = judge(replace(SAME, length_mm=784.0), need=replace(NEED, thickness_mm=None), drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("size", "fits_with_change")
    assert list_measured(judged) == ["thickness_mm"]
    assert any("judged by size only" in text for text in judged.cautions)


def test_drive_that_does_not_run_its_own_belt_is_judged_by_size() -> None:
    far = replace(DRIVE, drive=replace(DRIVE.drive, centre_distance_mm=400.0))
    judged = judge(replace(SAME, length_mm=784.0), drive=far)
    assert (judged.kind, judged.outcome) == ("size", "fits_with_change")
    assert list_measured(judged) == ["drive"]
    assert any("check it" in text for text in judged.cautions)


def test_angle_between_the_limits_says_what_bedding_in_costs() -> None:
    """Opening T |tan(a/2) - tan(t/2)|: 8.5 mm, 30 in 28 degrees: 0.158 mm; 2e / (2 tan 14) = 0.634 mm."""
    judged = judge(replace(SAME, angle_deg=30.0), drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("geometry", "fits_with_change")
    text = next(item.text for item in judged.consequences if item.quantity == "flank_opening")
    assert "top edge carries" in text
    assert "0.16 mm per side" in text
    assert "0.32 mm of width" in text
    assert "0.63 mm deeper" in text
    narrow = judge(replace(SAME, angle_deg=26.0), drive=DRIVE)
    assert "bottom edge carries" in narrow.consequences[-1].text


def test_angle_that_no_belt_has_is_refused_by_size_without_an_error() -> None:
    judged = judge(replace(SAME, angle_deg=300.0), drive=DRIVE)
    assert (judged.kind, judged.outcome) == ("size", "does_not_fit")


def test_creep_at_idle_is_a_consequence_and_a_caution() -> None:
    """Engagement at clutch speed times the first ratio: 1000 x 2.512 = 2512 r/min; longer belts lower it."""
    calm = judge(SAME, drive=replace(DRIVE, clutch_rpm=1000.0, idle_rpm=2500.0))
    assert [item.quantity for item in calm.consequences] == ["top_speed", "low_ratio", "engagement_speed"]
    assert "about 2500 r/min" in calm.consequences[2].text
    creeping = judge(SAME, drive=replace(DRIVE, clutch_rpm=1000.0, idle_rpm=2520.0))
    assert creeping.consequences[-1].quantity == "creep"
    assert any(text.startswith("WARNING") for text in creeping.cautions)


def test_texts_say_the_same_instead_of_a_difference_of_zero() -> None:
    for drive in (None, DRIVE):
        texts = " ".join(reason.text for reason in judge(SAME, drive=drive).reasons)
        assert "Length is the same" in texts
        assert "+0" not in texts.replace("+0.0 %", "")
        assert "-0.0" not in texts


def test_smallest_values_are_said_as_such() -> None:
    texts = {str(reason.rule): reason.text for reason in judge(SAME, drive=DRIVE).reasons}
    assert "at least 0 mm" in texts["belt.mount_margin"]
    assert "at least 0 mm" in texts["belt.grip_margin"]
    assert "as with the specified belt" in texts["belt.bottoms_on_boss"]


def test_limits_are_settings_and_shown() -> None:
    limits = FitLimits(belt_code=replace(FitLimits().belt_code, length_same_mm=1.0))
    judged = judge(replace(SAME, length_mm=789.5), limits=limits)
    assert judged.outcome == "fits_with_change"
    assert judged.reasons[0].limit == 1.0


NUMBER = st.one_of(st.none(), st.floats(0.01, 2000, allow_nan=False))


@given(NUMBER, NUMBER, NUMBER, NUMBER, st.sampled_from([None, "outside", "pitch", "inside"]))
def test_any_belt_gets_an_outcome_with_plain_numbers(
    length: float | None, width: float | None, angle: float | None, thickness: float | None, kind: str | None
) -> None:
    asked = PartSize(
        length_mm=length, top_width_mm=width, angle_deg=angle, thickness_mm=thickness, length_kind=kind
    )
    judged = judge(asked, drive=DRIVE)
    numbers = [reason.value for reason in judged.reasons] + [reason.limit for reason in judged.reasons]
    numbers += [item.change_percent for item in judged.consequences]
    assert all(math.isfinite(number) for number in numbers if isinstance(number, float))
    if judged.outcome == "fits":
        assert length is not None
        assert abs(length - 788.0) <= 15.0


@given(st.floats(770, 805), st.floats(14.5, 19.5), st.floats(25.5, 30.5))
def test_quick_comparison_is_the_answer(length: float, width: float, angle: float) -> None:
    asked = replace(SAME, length_mm=length, top_width_mm=width, angle_deg=angle)
    for drive in (None, DRIVE):
        judge_of_engine = BeltJudge(NEED, drive, FitLimits())
        judged, compared = judge_of_engine.judge(asked), judge_of_engine.compare(asked)
        assert (judged.outcome, judged.kind) == (compared.outcome, compared.kind)
        changes = [item.change_percent for item in judged.consequences if item.change_percent is not None]
        if changes:
            assert compared.largest_change_percent == max(changes, key=abs)
