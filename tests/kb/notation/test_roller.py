"""Sizes met in the trade: common practice, no source. Bands: judgement of this project."""

import pytest

from kb.errors import BadNotation
from kb.notation.roller import format_roller, parse_roller


def reason(text):
    with pytest.raises(BadNotation) as refusal:
        parse_roller(text)
    return refusal.value.reason


@pytest.mark.parametrize(
    "text", ["15x12", "16x13", "17x12", "18x14", "19x15.5", "20x12", "20x15", "20x17", "21x17", "23x18"]
)
def test_common_sizes_are_read(text):
    reading = parse_roller(text)
    assert format_roller(reading) == text
    assert (reading.mass_g, reading.count, reading.flags) == (None, None, frozenset())


@pytest.mark.parametrize(
    ("text", "mass_g", "count"),
    [
        ("set of 6: 16x13 7g", 7, 6),
        ("(6) 16x13 7 grams", 7, 6),
        ("16x13 (6)", None, 6),
        ("6.5g 16x13", 6.5, None),
        ("7gr-16x13", 7, None),
        ("16x13 - 7 gram - 6 pcs", 7, 6),
        ("16/13/6g", 6, None),
        ("16 mm x 13 mm x 7g x 8", 7, 8),
        ("16x13 2g", 2, None),
        ("16x13 35g", 35, None),
        ("16x13 0.0065kg", 6.5, None),
    ],
)
def test_mass_and_count_stand_in_any_usual_place(text, mass_g, count):
    reading = parse_roller(text)
    assert (reading.od_mm, reading.width_mm, reading.mass_g, reading.count) == (16, 13, mass_g, count)


@pytest.mark.parametrize(
    ("text", "flags"),
    [
        ("16x13x7", {"unit_assumed"}),
        ("16x13 6", {"unit_assumed", "ambiguous_mass_count"}),
        ("6 pcs 16x13x6", {"unit_assumed"}),
        ("16x13x6x6", {"unit_assumed"}),
        ("13x16 6,5g", {"reordered", "decimal_comma"}),
        ("I6x13", {"ocr_fixed"}),
    ],
)
def test_assumptions_are_flagged(text, flags):
    assert parse_roller(text).flags == flags


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12.9x12", "out_of_range"),
        ("30.1x13", "out_of_range"),
        ("16x7.9", "out_of_range"),
        ("28x25.1", "out_of_range"),
        ("16x16", "out_of_range"),
        ("16x13 1.9g", "out_of_range"),
        ("16x13 35.1g", "out_of_range"),
        ("16x13 3x1g+3x7g", "out_of_range"),
        ("16x13 (0)", "out_of_range"),
        ("16x13 (25)", "out_of_range"),
        ("16x13 6g/7g", "multiple_values"),
        ("16x13 6/7g", "multiple_values"),
        ("16x13 6-7g", "too_many_numbers"),
        ("16x13 6~7g", "multiple_values"),
        ("16x13 6 to 7g", "multiple_values"),
        ("7g 16x13 6g", "multiple_values"),
        ("16x13 3x6g/3x7g", "multiple_values"),
        ("6.5g", "too_few_numbers"),
        ("16x13x7x6x2", "too_many_numbers"),
        ("6 pcs 16x13 (6)", "too_many_numbers"),
        ("7g 16x13 6", "too_many_numbers"),
        ("16--13", "not_recognised"),
        ("16x13 heavy", "not_recognised"),
        ("16+13", "not_recognised"),
        ("16x13 2.5x6g+3x7g", "not_recognised"),
        ("16x13 7g x 6.5", "not_recognised"),
        ("16x13 3x6g+3x7g (5)", "contradictory"),
        ("16x13 6,500g", "ambiguous_separator"),
    ],
)
def test_what_is_no_roller_size_is_refused_with_its_reason(text, expected):
    assert reason(text) == expected


def test_mixed_set_has_its_masses_and_total():
    reading = parse_roller("16x13 3x6.5g+3x7g")
    assert [(m.count, m.mass_g) for m in reading.mixed] == [(3, 6.5), (3, 7)]
    assert (reading.count, reading.mass_g, reading.mass_g_total) == (6, None, 40.5)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6 pcs 13x16 7g", "16x13 7g x 6"),
        ("16*13-5.5g", "16x13 5.5g"),
        ("(6) 16x13", "16x13 (6)"),
        ("16x13 3x6g+3x7g", "16x13 3x6g+3x7g"),
    ],
)
def test_roller_has_one_spelling(text, expected):
    assert format_roller(parse_roller(text)) == expected
    assert parse_roller(expected) == parse_roller(format_roller(parse_roller(expected)))
