"""Facts as people type them. Inches by definition (25.4 mm); names of facts, common practice, no source."""

import pytest

from kb.errors import BadInput
from kb.rules.feature import Candidate, FeatureValue
from kb.rules.tell_apart_facts import fill_pattern, parse_facts, prepare_reading, split_fact

LENGTH = [FeatureValue("case_length", 402.0, unit="mm")]
RIM = [FeatureValue("wheel_diameter", 12.0, unit="in")]


@pytest.mark.parametrize(
    ("text", "recorded", "value"),
    [
        ("402", LENGTH, 402.0),
        ("402 mm", LENGTH, 402.0),
        ("40,2 cm", LENGTH, 402.0),
        ("10 in", LENGTH, 254.0),
        ("12", RIM, 12.0),
        ("304.8 mm", RIM, 12.0),
        ("air", [FeatureValue("cooling", "air")], "air"),
        ("151", [FeatureValue("stamped_designation", "151QMI")], "151"),
        ("8", [], 8.0),
        ("8 g", [], 8.0),
    ],
)
def test_values_come_into_the_form_of_the_record(text, recorded, value):
    found = prepare_reading(text, recorded)
    assert found == (value if isinstance(value, str) else pytest.approx(value))


def test_a_unit_of_another_kind_is_refused():
    with pytest.raises(BadInput, match="'mm'"):
        prepare_reading("402 g", LENGTH)


@pytest.mark.parametrize(
    ("pair", "reading"),
    [
        (("case_length_mm", "402"), ("case_length", "402")),
        (("case_length_in", "15.8"), ("case_length", "15.8 in")),
        (("wheel_diameter_in", "12 in"), ("wheel_diameter", "12 in")),
        (("Stamp", "1E38QMA"), ("stamped_designation", "1E38QMA")),
        (("rim", "12"), ("wheel_diameter", "12")),
    ],
)
def test_names_have_one_spelling(pair, reading):
    assert list(parse_facts([pair]).readings.items()) == [reading]


@pytest.mark.parametrize("text", ["", "=", "case_length", "=402", "case_length="])
def test_facts_without_name_or_value_are_refused(text):
    with pytest.raises(BadInput, match="QUANTITY=VALUE"):
        split_fact(text)


def test_vehicle_words_are_kept_apart_from_readings():
    facts = parse_facts([("vehicle", "heron"), ("make", "osk"), ("year", "2014"), ("bore", "38")])
    assert dict(facts.readings) == {"bore": "38"}
    assert (facts.vehicle.text, facts.vehicle.make, facts.vehicle.year) == ("heron", "osk", 2014)


@pytest.mark.parametrize(
    ("pattern", "met"),
    [("1e38*", True), ("1E3?QMA", True), ("*38*", True), ("1E39*", False), ("[1]E38QMA", False)],
)
def test_a_pattern_meets_a_stamp(pattern, met):
    candidate = Candidate("a", (FeatureValue("stamp", "1E38QMA"), FeatureValue("bore", 38.0)))
    found = fill_pattern(candidate, "stamp", pattern)
    assert (found.features[0].value == pattern) is met


def test_one_name_with_two_values_is_refused_and_with_one_value_is_not():
    same = parse_facts([("designation", "1E38QMA"), ("stamp", "1e38qma")])
    assert dict(same.readings) == {"stamped_designation": "1E38QMA"}
    with pytest.raises(BadInput, match="'402' and as '455'"):
        parse_facts([("case_length", "402"), ("case_length_mm", "455")])
    with pytest.raises(BadInput, match="'2014' and as '2015'"):
        parse_facts([("year", "2014"), ("year", "2015")])
