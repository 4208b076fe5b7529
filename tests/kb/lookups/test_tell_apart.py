"""Telling engines apart over the demo catalogue: facts of features, columns, needs, fasteners, vehicles."""

import pytest
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.lookups.tell_apart import TellApartQuestion, tell_engines_apart


@pytest.fixture
def tell(demo_engine):
    def ask(*facts, engines=(), **more):
        with Session(demo_engine) as session:
            return tell_engines_apart(session, TellApartQuestion(engines, facts, **more))

    return ask


def possible(result):
    return {item.engine for item in result.answer.possible}


def test_look_alikes_are_split_by_the_case_length(tell):
    found = tell(engines=("plover-50-s", "plover-50-l"))
    first = found.answer.measure_next[0]
    assert first.quantity == "case_length"
    assert first.splits == {"402": ("plover-50-s",), "432": ("plover-50-l",)}
    assert first.question
    assert first.how


@pytest.mark.parametrize(
    ("value", "left"), [("404", {"plover-50-s"}), ("404.1", set()), ("40.2 cm", {"plover-50-s"})]
)
def test_a_reading_is_held_against_the_tolerance_of_the_quantity(tell, value, left):
    # 2 mm for lengths over 100 mm (setting of this project).
    assert possible(tell(("case_length_mm", value), engines=("plover-50-s", "plover-50-l"))) == left


def test_what_rules_an_engine_out_is_named_with_both_values(tell):
    (out,) = tell(("wheel_diameter", "10"), engines=("plover-50-s", "plover-50-l")).answer.ruled_out
    assert (out.engine, out.by, out.value, out.asked) == ("plover-50-l", "wheel_diameter", 12.0, 10.0)


@pytest.mark.parametrize("name", ["designation", "stamped_designation", "stamp"])
def test_a_stamp_is_asked_under_any_of_its_names(tell, name):
    assert possible(tell((name, "1e38qma"))) == {"plover-50-s", "plover-50-l"}


def test_a_stamp_read_in_part_is_a_pattern(tell):
    assert possible(tell(("designation", "1E38*"))) == {"plover-50-s", "plover-50-l"}
    assert possible(tell(("designation", "15?QMI"))) == {"whimbrel-125-s", "whimbrel-125-l"}


def test_a_fasteners_size_is_a_fact(tell):
    assert "dotterel-100-l" in possible(tell(("crank_nut_across_flats", "19")))
    assert "plover-50-s" not in possible(tell(("crank_nut_across_flats", "19")))


def test_columns_of_the_engine_are_facts(tell):
    assert possible(tell(("bore", "76.5"), ("strokes", "4"), ("cooling", "liquid"))) >= {"bittern-300"}
    assert "plover-50-s" not in possible(tell(("strokes", "4")))


def test_a_belt_size_is_a_fact(tell):
    assert "plover-50-s" in possible(tell(("belt_length", "669"), ("belt_top_width", "18")))
    assert "plover-50-l" not in possible(tell(("belt_length", "669")))


def test_a_partial_vehicle_name_leaves_its_engines_and_says_that_lists_are_not_complete(tell):
    found = tell(("vehicle", "cobblen"))
    assert "plover-50-l" in possible(found)
    assert "plover-50-s" not in possible(found)
    assert any("never complete" in text for text in found.answer.notes)


def test_look_alikes_that_nothing_measured_can_split_and_whether_it_matters(tell):
    facts = (("designation", "1E38QMA"),)
    found = tell(*facts, engines=("plover-50-s", "plover-50-l"), position="drive_belt")
    assert found.answer.needs_differ is True
    same = tell(*facts, engines=("plover-50-s", "plover-50-l"), position="torque_driver_seal")
    assert same.answer.needs_differ is False


def test_a_skipped_question_is_not_asked_again(tell):
    engines = ("plover-50-s", "plover-50-l")
    found = tell(engines=engines, skip=("case_length",))
    assert "case_length" not in [item.quantity for item in found.answer.measure_next]
    assert found.answer.measure_next


def test_a_quantity_that_nobody_recorded_rules_nothing_out(tell):
    found = tell(("horn_pitch", "440"))
    assert len(found.answer.possible) == 24
    assert "Nothing is recorded for 'horn_pitch'" in found.answer.notes[0]


def test_no_engine_left_says_so(tell):
    found = tell(("case_length", "402"), ("cooling", "steam"))
    assert not possible(found)
    assert any(text.startswith("No engine agrees") for text in found.answer.notes)


def test_a_feature_without_a_value_rules_nothing_out(database, load_files):
    load_files(
        database,
        engines="engine\nteal-50\nteal-80\n",
        features="engine,quantity,value,unit\nteal-50,case_length,,mm\nteal-80,case_length,400,mm\n",
    )
    with Session(database) as session:
        found = tell_engines_apart(session, TellApartQuestion(facts=(("case_length", "450"),)))
    assert possible(found) == {"teal-50"}


@pytest.mark.parametrize(
    "fact",
    [("case_length", ""), ("case_length", "7 g"), ("year", "soon"), ("---", "4"), ("case_length", "x" * 201)],
)
def test_facts_that_are_none_are_refused(tell, fact):
    with pytest.raises(BadInput):
        tell(fact)


def test_a_word_where_numbers_are_recorded_rules_nothing_out(tell):
    assert tell(("case_length", "4 kg m")).answer.ruled_out == ()


def test_unknown_engine_names_the_nearest(tell):
    with pytest.raises(NotFound, match="plover-50-s"):
        tell(engines=("plover-50-x",))


@pytest.fixture
def tell_small(sqlite_engine, load_files):
    features = (
        "engine,quantity,value,unit\n"
        "teal-50,case_length,402,mm\n"
        "teal-80,case_length,15.83,inch\n"
        "teal-90,case_length,45.5,cm\n"
    )
    load_files(sqlite_engine, engines="engine\nteal-50\nteal-80\nteal-90\n", features=features)

    def ask(*facts):
        with Session(sqlite_engine) as session:
            return tell_engines_apart(session, TellApartQuestion((), facts))

    return ask


@pytest.mark.parametrize("value", ["402", "402.2 mm", "40.2 cm", "15.83 in"])
def test_one_quantity_may_be_recorded_in_several_units(tell_small, value):
    # 15.83 in x 25.4 = 402.08 mm, 45.5 cm = 455 mm (inch by definition); 2 mm for lengths over 100 mm.
    found = tell_small(("case_length", value))
    assert possible(found) == {"teal-50", "teal-80"}
    (out,) = found.answer.ruled_out
    assert (out.engine, out.value, out.unit) == ("teal-90", 455.0, "mm")


def test_splits_of_several_units_are_in_one_unit(tell_small):
    (first,) = tell_small().answer.measure_next
    assert first.splits["455"] == ("teal-90",)
    assert first.splits["402"] == ("teal-50", "teal-80")


def test_a_word_for_a_number_rules_nothing_out_and_is_said(tell_small):
    found = tell_small(("case_length", "long"))
    assert possible(found) == {"teal-50", "teal-80", "teal-90"}
    assert "'long' is not a number" in " ".join(found.answer.notes)


def test_a_word_that_rules_out_is_named_as_it_was_typed(tell):
    out = tell(("designation", "1E38QMA"), engines=("plover-50-s", "whimbrel-125-s")).answer.ruled_out
    assert [item.asked for item in out] == ["1E38QMA"]
