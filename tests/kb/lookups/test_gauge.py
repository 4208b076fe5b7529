"""Gauging over the demo catalogue and over small ones: which limit is used, and what is said of it.

States: near the limit from 80 % used up to and including the limit (settings of this project).
"""

import pytest
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.lookups.gauge import GaugeQuestion, gauge_part

ENGINE = "engine\nteal-50\n"


@pytest.fixture
def gauge(sqlite_engine, load_files):
    def ask(position, quantity, value, **files):
        load_files(sqlite_engine, engines=ENGINE, **files)
        with Session(sqlite_engine) as session:
            return gauge_part(session, GaugeQuestion("teal-50", position, quantity, value))

    return ask


@pytest.mark.parametrize(
    ("value", "state"),
    [
        ("16.81", "good"),
        ("16.8", "near_limit"),
        ("16.5", "near_limit"),
        ("16.49", "replace"),
        ("16,6 mm", "near_limit"),
    ],
)
def test_states_on_each_side_of_the_limits(demo_engine, value, state):
    # plover-50-s: 18 mm new, limit 16.5 mm; 80 % of the allowance is used up at 16.8 mm.
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_width_mm", value))
    assert found.answer.state.value == state
    assert found.answer.source.source == "man-plover"


def test_ride_depth_is_the_wedge_of_the_lost_width(demo_engine):
    # dR = dS / (2 tan(θ/2)): 1.4 / (2 tan 15°) = 2.612 mm (plain geometry).
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_width", "16.6"))
    depth = next(item for item in found.answer.consequences if item.quantity == "ride_depth")
    assert depth.change == pytest.approx(2.6124, abs=1e-3)


def test_without_a_drive_only_a_rule_of_thumb_is_given_and_it_says_so(demo_engine):
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("godwit-180", "drive_belt", "top_width", "20.5"))
    speed = next(item for item in found.answer.consequences if item.quantity == "top_speed")
    assert "rule of thumb" in speed.text
    assert "drive" in [item.quantity for item in found.answer.measure_next]


def test_limit_of_the_need_file_is_used_where_wear_limits_lack_it(gauge):
    found = gauge(
        "drive_belt",
        "width",
        "17.2",
        sources="source,kind\nbook,manual\n",
        belt_needs="engine,top_width_mm,top_width_limit_mm,source\nteal-50,18,17,book\n",
    )
    assert (found.answer.limit, found.answer.state.value, found.answer.source.source) == (
        17.0,
        "near_limit",
        "book",
    )


def test_wear_limits_come_before_the_need_file(gauge):
    found = gauge(
        "rollers",
        "diameter",
        "15.7",
        sources="source,kind\nbook,manual\nlist,supplier\n",
        roller_needs="engine,diameter_mm,diameter_limit_mm,source\nteal-50,16,15.2,book\n",
        wear_limits="engine,position,quantity,nominal,limit,sense,unit,source\n"
        "teal-50,rollers,diameter,16,15.6,min,mm,list\n",
    )
    assert (found.answer.limit, found.answer.source.source) == (15.6, "list")


def test_size_when_new_comes_from_the_need_where_the_limit_row_lacks_it(gauge):
    found = gauge(
        "rollers",
        "diameter",
        "15.9",
        roller_needs="engine,diameter_mm\nteal-50,16\n",
        wear_limits="engine,position,quantity,limit,sense\nteal-50,rollers,diameter,15.5,min\n",
    )
    assert (found.answer.nominal, found.answer.state.value) == (16.0, "good")


def test_two_manuals_with_two_limits_are_both_named_and_the_cautious_one_is_shown(gauge):
    found = gauge(
        "drive_belt",
        "top_width",
        "16.8",
        sources="source,kind\nbook,manual\nnote,manual\n",
        wear_limits="engine,position,quantity,nominal,limit,sense,unit,source\n"
        "teal-50,drive_belt,top_width,18,16.0,min,mm,book\n"
        "teal-50,drive_belt,top_width,18,17.0,min,mm,note\n",
    )
    assert found.conflict
    assert found.answer.state.value == "replace"
    assert {answer.source.source: answer.limit for answer in found.by_source} == {"book": 16.0, "note": 17.0}
    assert "Sources differ on the limit" in found.answer.cautions[0]


def test_nothing_recorded_is_not_known_and_says_what_to_look_up(gauge):
    found = gauge("drive_boss", "outside", "17.9")
    assert found.answer.state.value == "not_known"
    assert [item.quantity for item in found.answer.measure_next] == ["limit"]
    assert "Nothing is recorded" in found.answer.text


def test_misspelt_quantity_is_not_known_and_names_the_nearest(demo_engine):
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_widht", "16.6"))
    assert found.answer.state.value == "not_known"
    assert "'top_width'" in found.answer.text


def test_inches_are_turned_into_the_unit_of_the_record(demo_engine):
    # 0.65 in = 16.51 mm by definition.
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_width", "0.65 in"))
    assert found.answer.value == pytest.approx(16.51)


def test_inches_typed_as_millimetres_give_no_verdict(demo_engine):
    with Session(demo_engine) as session:
        found = gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_width", "0.65"))
    assert found.answer.state.value == "not_known"


@pytest.mark.parametrize("value", ["", "wide", "16.6 g", "-1", "1e999"])
def test_values_that_are_none_are_refused(demo_engine, value):
    with Session(demo_engine) as session, pytest.raises(BadInput):
        gauge_part(session, GaugeQuestion("plover-50-s", "drive_belt", "top_width", value))


def test_unknown_position_names_the_nearest(demo_engine):
    with Session(demo_engine) as session, pytest.raises(NotFound, match="drive_belt"):
        gauge_part(session, GaugeQuestion("plover-50-s", "drive_bolt", "top_width", "16.6"))


def test_each_limit_is_held_against_the_reading_in_its_own_unit(gauge):
    # 0.59 in = 14.986 mm and 0.67 in = 17.018 mm (inch by definition): both sources say the same.
    found = gauge(
        "drive_belt",
        "top_width",
        "15.9",
        sources="source,kind\nbook,manual\nlist,supplier\n",
        wear_limits="engine,position,quantity,nominal,limit,sense,unit,source\n"
        "teal-50,drive_belt,top_width,17,15,min,mm,book\n"
        "teal-50,drive_belt,top_width,0.67,0.59,min,Inch,list\n",
    )
    assert [answer.state.value for answer in found.by_source] == ["good", "good"]
    assert found.by_source[1].used_percent == pytest.approx(
        (17.018 - 15.9) / (17.018 - 14.986) * 100, abs=0.01
    )
    assert not found.conflict


@pytest.mark.parametrize(
    ("position", "quantity", "unit"),
    [("rollers", "mass", "g"), ("rollers", "diameter", "mm"), ("sliders", "play", None)],
)
def test_a_limit_without_a_unit_has_that_of_its_quantity_and_else_none(gauge, position, quantity, unit):
    limits = f"engine,position,quantity,nominal,limit\nteal-50,{position},{quantity},7,6\n"
    found = gauge(position, quantity, "6.5", wear_limits=limits)
    assert (found.answer.unit, found.answer.state.value) == (unit, "good")


def test_a_quantity_that_nobody_recorded_names_those_recorded(gauge):
    found = gauge("rollers", "colour", "7", roller_needs="engine,diameter_mm,mass_g\nteal-50,16,7\n")
    assert "Recorded here: diameter, mass." in found.answer.text
