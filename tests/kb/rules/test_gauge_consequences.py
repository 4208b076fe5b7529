"""What wear changes, in numbers.

Sources: made-up drive of 260 mm with a 788 × 17 × 28 belt, values from root-found seats and a numeric
perimeter integral (scipy) and from intersected flank lines (shapely), worked out apart from this program;
spring from the compression-spring formula of Shigley, from memory, checked by the twisting energy of the
wire; shift speed from the root of the roller force balance (scipy). Everything else by hand beside the case.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.mechanics.drive_range import Drive, Pulley
from kb.rules.fit.values import BeltNeed, DriveData, SpringNeed
from kb.rules.gauge import gauge_reading
from kb.rules.gauge_consequences import find_consequences
from kb.rules.gauge_values import (
    GaugeAnswer,
    GaugeConsequence,
    GaugeLimit,
    GaugeMachine,
    GaugeReading,
    GaugeState,
)
from kb.rules.source import SourceRef
from kb.terms import LimitSense, Position, SourceKind

SOURCE = SourceRef("manual-1", SourceKind.MANUAL)
FRONT = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
REAR = Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)
DRIVE = DriveData(SOURCE, Drive(260.0, FRONT, REAR), cord_depth_mm=2.0)
BELT = BeltNeed(
    SOURCE, length_mm=788.0, length_kind="outside", top_width_mm=17.0, angle_deg=28.0, thickness_mm=8.5
)
WIDTH = GaugeLimit(17.0, 15.0, LimitSense.MIN)


def gauge(value: float, machine: GaugeMachine, limit: GaugeLimit = WIDTH) -> GaugeAnswer:
    return gauge_reading(
        GaugeReading("plover-50-s", Position.DRIVE_BELT, "top_width", value), limit, machine=machine
    )


def by_quantity(
    consequences: tuple[GaugeConsequence, ...] | list[GaugeConsequence],
) -> dict[str, GaugeConsequence]:
    return {consequence.quantity: consequence for consequence in consequences}


def judge(
    position: Position, quantity: str, *, new: float, now: float, machine: GaugeMachine | None = None
) -> dict[str, GaugeConsequence]:
    reading = GaugeReading("plover-50-s", position, quantity, now)
    found = find_consequences(reading, GaugeLimit(new, None), machine=machine or GaugeMachine())
    return by_quantity(found.consequences)


def test_a_belt_inside_its_limit_that_is_felt_says_so_and_one_beyond_it_needs_no_such_word() -> None:
    """The same belt and drive: at 15.5 of 17 mm with the limit at 15 mm 75 % are used, which is good."""
    machine = GaugeMachine(belt=BELT, drive=DRIVE)
    good = gauge(15.5, machine, GaugeLimit(17.0, 15.0, LimitSense.MIN, "mm"))
    assert good.state.value == "good"
    assert good.meaning is not None
    assert good.meaning.startswith("Inside the limit is not as new: top speed is down by up to about 1")
    assert "the belt bottoms in the pulley" in good.meaning
    assert gauge(16.9, machine, GaugeLimit(17.0, 15.0, LimitSense.MIN, "mm")).meaning is None
    assert gauge(14.5, machine, GaugeLimit(17.0, 15.0, LimitSense.MIN, "mm")).meaning is None


def test_belt_worn_from_17_to_15_mm_rides_deeper_slower_slack_and_on_the_boss() -> None:
    """scipy and shapely: 4.0108 mm deeper, ratio 0.80489 to 0.98380 (-18.19 %), 6.832 mm of slack at rest."""
    found = by_quantity(gauge(15.0, GaugeMachine(belt=BELT, drive=DRIVE)).consequences)
    assert found["ride_depth"].change == pytest.approx(4.010780934, abs=1e-6)
    assert found["top_speed"].change_percent == pytest.approx(-18.186, abs=0.002)
    assert "up to about 18 %" in found["top_speed"].text
    assert found["slack_at_rest"].change == pytest.approx(6.832308042, abs=1e-4)
    assert found["boss_clearance"].change is not None
    assert found["boss_clearance"].change < 0


def test_half_a_millimetre_costs_five_percent_and_no_slack() -> None:
    """scipy: -4.9616 %."""
    found = by_quantity(gauge(16.5, GaugeMachine(belt=BELT, drive=DRIVE)).consequences)
    assert found["top_speed"].change_percent == pytest.approx(-4.961551165, abs=0.002)
    assert set(found) == {"ride_depth", "top_speed"}


def test_belt_too_narrow_to_be_gripped_no_longer_drives() -> None:
    """Grip margin when new 48.5 + (17 − 17.75) · 2.005 − 8.5 − 31 = 7.5 mm; 4.2 mm of width take 8.4 mm."""
    found = by_quantity(gauge(12.8, GaugeMachine(belt=BELT, drive=_high_boss())).consequences)
    assert "no longer drives" in found["drive"].text


def _high_boss() -> DriveData:
    """The front boss so high that it carries the belt once it has lost about 4 mm of width."""
    return replace(DRIVE, drive=Drive(260.0, replace(FRONT, boss_radius_mm=31.0), REAR))


@pytest.mark.parametrize(
    ("worn", "percent", "words"),
    [(16.9, -1.0, "up to about 1 %"), (16.0, -10.0, "up to about 10 %"), (15.9, None, "by more than 10 %")],
)
def test_without_pulleys_top_speed_is_a_rule_of_thumb_for_the_first_millimetre(
    worn: float, percent: float | None, words: str
) -> None:
    """About 1 % per 0.1 mm; made-up drives give -9.6 % for the first millimetre."""
    answer = gauge(worn, GaugeMachine(belt=BELT))
    found = by_quantity(answer.consequences)
    assert found["top_speed"].change_percent == (None if percent is None else pytest.approx(percent))
    assert words in found["top_speed"].text
    assert "taking the belt's angle for the groove's" in found["ride_depth"].text
    assert [row.quantity for row in answer.measure_next] == ["drive"]


def test_without_any_angle_the_ride_depth_is_not_given() -> None:
    answer = gauge(16.0, GaugeMachine())
    assert set(by_quantity(answer.consequences)) == {"top_speed"}
    assert [row.quantity for row in answer.measure_next] == ["angle_deg", "drive"]


@pytest.mark.parametrize(
    ("belt", "lacking"),
    [
        (replace(BELT, length_mm=None), ["length_mm"]),
        (replace(BELT, thickness_mm=None), ["thickness_mm"]),
        (
            replace(BELT, length_mm=734.6, length_kind="inside", thickness_mm=None),
            ["length_mm", "thickness_mm"],
        ),
        (replace(BELT, length_mm=700.0), ["drive"]),  # cannot be mounted, so the record contradicts itself
    ],
)
def test_missing_or_contradictory_belt_numbers_are_asked_for(belt: BeltNeed, lacking: list[str]) -> None:
    answer = gauge(16.0, GaugeMachine(belt=belt, drive=DRIVE))
    assert [row.quantity for row in answer.measure_next] == lacking
    assert "rule of thumb" in by_quantity(answer.consequences)["top_speed"].text


@pytest.mark.parametrize(
    ("length_mm", "kind"),
    [(788.0, "outside"), (775.4336, "pitch"), (734.5929, "inside"), (788.0, None)],
)
def test_length_kinds_describe_the_same_belt(length_mm: float, kind: str | None) -> None:
    """Steiner: inwards by x makes 2πx shorter; 2π · 2.0 = 12.5664, 2π · 8.5 = 53.4071."""
    belt = replace(BELT, length_mm=length_mm, length_kind=kind)
    found = by_quantity(gauge(16.5, GaugeMachine(belt=belt, drive=DRIVE)).consequences)
    assert found["top_speed"].change_percent == pytest.approx(-4.9616, abs=0.003)


def test_what_was_filled_in_is_said() -> None:
    machine = GaugeMachine(belt=replace(BELT, length_kind=None), drive=replace(DRIVE, cord_depth_mm=None))
    cautions = gauge(16.5, machine).cautions
    assert "The cord depth is not recorded; 2 mm was taken." in cautions
    assert "The kind of belt length is not recorded; outside length was taken." in cautions
    stated = gauge(16.5, GaugeMachine(belt=BELT, drive=DRIVE)).cautions
    assert not any("was taken" in caution for caution in stated)


@settings(max_examples=100, deadline=None)
@given(st.floats(13.0, 17.0))
def test_any_plausible_width_gets_an_answer_that_never_promises_more_speed(width: float) -> None:
    answer = gauge(width, GaugeMachine(belt=BELT, drive=DRIVE))
    speed = by_quantity(answer.consequences).get("top_speed")
    assert answer.state is not GaugeState.NOT_KNOWN
    assert speed is None or (speed.change_percent or 0.0) <= 1e-6


@pytest.mark.parametrize("value", [17.0, 17.2])
def test_belt_that_has_lost_nothing_has_no_consequence(value: float) -> None:
    assert gauge(value, GaugeMachine(belt=BELT, drive=DRIVE)).consequences == ()


@pytest.mark.parametrize(
    ("now", "percent", "words"),
    [(6.0, 8.01235, "later"), (7.7, -4.65374, "earlier")],
)
def test_roller_mass_moves_shift_speed(now: float, percent: float, words: str) -> None:
    """scipy root of the force balance: 7 g to 6 g takes 6500 to 7020.80 r/min; √(7/7.7) − 1 = −4.654 %."""
    found = judge(Position.ROLLERS, "mass", new=7.0, now=now)["shift_speed"]
    assert found.change_percent == pytest.approx(percent, abs=1e-4)
    assert words in found.text


def test_roller_without_mass_gives_no_number() -> None:
    assert judge(Position.ROLLERS, "mass", new=7.0, now=0.0) == {}


def test_smaller_rollers_keep_the_drive_pulley_open_like_a_washer_of_that_size() -> None:
    """0.5 mm in a 28° groove: 1.0027 mm of radius and -4.9616 % of top speed (scipy, washer of 0.5 mm)."""
    found = judge(
        Position.ROLLERS, "diameter", new=16.0, now=15.5, machine=GaugeMachine(belt=BELT, drive=DRIVE)
    )
    assert found["ride_depth"].change == pytest.approx(1.002695233, abs=1e-6)
    assert found["top_speed"].change_percent == pytest.approx(-4.9616, abs=0.01)
    assert "no number" in found["shift_speed"].text


@pytest.mark.parametrize(
    ("machine", "quantities"),
    [
        (GaugeMachine(), {"shift_speed"}),
        (GaugeMachine(belt=BELT), {"ride_depth", "shift_speed"}),
        (GaugeMachine(belt=replace(BELT, top_width_mm=None), drive=DRIVE), {"ride_depth", "shift_speed"}),
        (GaugeMachine(belt=replace(BELT, length_mm=None), drive=DRIVE), {"ride_depth", "shift_speed"}),
    ],
)
def test_roller_diameter_says_what_the_known_numbers_allow(
    machine: GaugeMachine, quantities: set[str]
) -> None:
    assert set(judge(Position.ROLLERS, "diameter", new=16.0, now=15.5, machine=machine)) == quantities


def test_rollers_so_small_that_the_belt_is_never_gripped_give_no_top_speed() -> None:
    machine = GaugeMachine(belt=BELT, drive=_high_boss())
    assert "top_speed" not in judge(Position.ROLLERS, "diameter", new=16.0, now=11.0, machine=machine)


def test_roller_larger_than_new_has_no_consequence() -> None:
    assert judge(Position.ROLLERS, "diameter", new=16.0, now=16.1) == {}


CONTRA = SpringNeed(SOURCE, installed_length_mm=70.0, shortest_length_mm=42.0)


def test_contra_spring_that_has_set_clamps_less() -> None:
    """Free 122 mm, 4 mm lost: 4/52 = 7.692 % at 70 mm, 4/80 = 5.0 % at 42 mm; √(1 − 0.0769) − 1 = −3.92 %."""
    machine = GaugeMachine(contra_spring=CONTRA)
    found = judge(Position.CONTRA_SPRING, "free_length", new=122.0, now=118.0, machine=machine)
    assert found["clamp_force"].change_percent == pytest.approx(-7.692307692, abs=1e-6)
    assert found["clamp_force_full_shift"].change_percent == pytest.approx(-5.0, abs=1e-9)
    assert found["shift_speed"].change_percent == pytest.approx(-3.9231, abs=1e-3)


def test_contra_spring_shorter_than_its_place_has_no_force_left() -> None:
    machine = GaugeMachine(contra_spring=replace(CONTRA, shortest_length_mm=None))
    found = judge(Position.CONTRA_SPRING, "free_length", new=122.0, now=69.0, machine=machine)
    assert set(found) == {"clamp_force"}
    assert found["clamp_force"].change_percent == -100.0


@pytest.mark.parametrize(
    "spring",
    [None, replace(CONTRA, installed_length_mm=None), replace(CONTRA, installed_length_mm=122.0)],
)
def test_contra_spring_without_a_usable_installed_length_asks_for_it(spring: SpringNeed | None) -> None:
    reading = GaugeReading("plover-50-s", Position.CONTRA_SPRING, "free_length", 118.0)
    found = find_consequences(reading, GaugeLimit(122.0, 116.0), machine=GaugeMachine(contra_spring=spring))
    assert found.consequences == []
    assert [row.quantity for row in found.lacking] == ["installed_length_mm"]


def test_contra_spring_longer_than_new_has_no_consequence() -> None:
    machine = GaugeMachine(contra_spring=CONTRA)
    assert judge(Position.CONTRA_SPRING, "free_length", new=122.0, now=123.0, machine=machine) == {}


@pytest.mark.parametrize(
    ("part", "new_and_now", "name", "change"),
    [
        ((Position.CLUTCH_SHOES, "lining_thickness"), (3.0, 1.8), "shoe_clearance", 1.2),
        (
            (Position.CLUTCH_BELL, "bore"),
            (107.0, 107.4),
            "shoe_clearance",
            0.2,
        ),  # half of the growth each side
        ((Position.CLUTCH_SPRINGS, "free_length"), (30.0, 31.5), "engagement_speed", 1.5),
        ((Position.DRIVE_BOSS, "outside"), (20.0, 19.9), "play", 0.1),
        ((Position.VARIATOR, "bore"), (20.0, 20.2), "play", 0.2),
        ((Position.GUIDE_PINS, "outside"), (6.0, 5.9), "play", 0.1),
    ],
)
def test_amount_of_wear_is_stated(
    part: tuple[Position, str], new_and_now: tuple[float, float], name: str, change: float
) -> None:
    new, now = new_and_now
    found = judge(*part, new=new, now=now)[name]
    assert found.change == pytest.approx(change)
    assert found.unit == "mm"


@pytest.mark.parametrize(
    ("position", "quantity", "new", "now"),
    [
        (Position.CLUTCH_SHOES, "lining_thickness", 3.0, 3.1),
        (Position.CLUTCH_BELL, "bore", 107.0, 106.9),
        (Position.CLUTCH_SPRINGS, "free_length", 30.0, 29.8),
        (Position.CRANK_NUT, "across_flats", 17.0, 16.5),
    ],
)
def test_part_without_wear_or_without_a_rule_has_no_consequence(
    position: Position, quantity: str, new: float, now: float
) -> None:
    assert judge(position, quantity, new=new, now=now) == {}


@pytest.mark.parametrize("limit", [GaugeLimit(None, 15.0), GaugeLimit(0.67, 0.59, unit="in")])
def test_unknown_size_or_foreign_unit_gives_no_number(limit: GaugeLimit) -> None:
    reading = GaugeReading("plover-50-s", Position.DRIVE_BELT, "top_width", 0.6)
    found = find_consequences(reading, limit, machine=GaugeMachine(belt=BELT, drive=DRIVE))
    assert found.consequences == []
