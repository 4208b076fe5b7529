"""Composition of the code (ANSI/RMA IP-25): from memory; the inch is 25.4 mm by definition."""

import pytest

from kb.errors import BadNotation
from kb.notation.belt_inch import format_belt_inch, parse_belt_inch


def test_width_is_in_sixteenths_and_length_in_tenths_of_an_inch():
    reading = parse_belt_inch("3230V1000")
    assert reading.top_width_mm == pytest.approx(50.8)  # 2 in
    assert reading.pitch_length_in == 100.0
    assert reading.length_mm == pytest.approx(2540.0)
    assert reading.angle_deg == 30


@pytest.mark.parametrize(
    "text", ["192V282", "19222V282", "1922V28", "1922V28200", "4L460", "A44", "V1922282", "5VX850"]
)
def test_other_families_are_refused(text):
    with pytest.raises(BadNotation) as refusal:
        parse_belt_inch(text)
    assert refusal.value.reason == "not_recognised"


@pytest.mark.parametrize("text", ["0022V282", "1900V282", "1922V000"])
def test_a_size_of_zero_is_refused(text):
    with pytest.raises(BadNotation) as refusal:
        parse_belt_inch(text)
    assert refusal.value.reason == "out_of_range"


def test_unlisted_section_and_misread_digit_are_flagged():
    assert parse_belt_inch("I822V28O").flags == {"section_not_listed", "ocr_fixed"}
    assert parse_belt_inch("1922V282").flags == frozenset()


def test_one_spelling():
    assert format_belt_inch(parse_belt_inch("1922 v 282")) == "1922V282"
    assert format_belt_inch(parse_belt_inch("1422V035")) == "1422V035"
