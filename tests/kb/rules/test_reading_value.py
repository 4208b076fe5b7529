"""Measured values as typed. Inches by definition (25.4 mm); decimal comma, common practice, no source."""

import pytest

from kb.errors import BadInput
from kb.rules.reading_value import find_number, parse_reading_value


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("16.6", "mm", 16.6),
        ("16,6", "mm", 16.6),
        (" 16.6 mm ", "mm", 16.6),
        ("1.66 cm", "mm", 16.6),
        ("1 in", "mm", 25.4),
        ('0.5"', "mm", 12.7),
        ("254 mm", "in", 10.0),
        ("6,5 g", "g", 6.5),
        ("12 in", None, 12.0),
        ("6200 km", "km", 6200.0),
    ],
)
def test_values_come_into_the_unit_of_the_record(text, unit, value):
    assert parse_reading_value(text, unit=unit) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "wide", "1.2.3", "1e5", "16 6", "--1", "9999999999", "16.6 kg", "7 g"])
def test_what_is_no_such_value_is_refused(text):
    with pytest.raises(BadInput, match=r"\.$"):
        parse_reading_value(text, unit="mm")


@pytest.mark.parametrize("text", ["1E38QMA", "M10x1.25", "air", "12 air"])
def test_words_are_no_numbers(text):
    assert find_number(text) is None
