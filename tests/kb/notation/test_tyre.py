"""ETRTO and ISO sizes, load index and speed symbol tables: from memory."""

import pytest

from kb.errors import BadNotation
from kb.notation.tyre import format_tyre, parse_tyre


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("60/100-4", "60/100-4"),
        ("200/40R23", "200/40R23"),
        ("3,50-10 51j", "3.50-10 51J"),
        ("3.00-10 tt 4pr", "3.00-10 4PR TT"),
        ("130/60 - 13 tubeless 53L mc", "130/60-13 M/C 53L TL"),
        ("12O/70-l2 5OJ", "120/70-12 50J"),
        ("100/80 B 16", "100/80B16"),
        ("120-70-12", "120/70-12"),
    ],
)
def test_tyre_has_one_spelling(text, expected):
    assert format_tyre(parse_tyre(text)) == expected
    assert format_tyre(parse_tyre(expected)) == expected


@pytest.mark.parametrize(
    ("text", "flags"),
    [
        ("120/70-12", set()),
        ("120-70-12", {"separator_unusual"}),
        ("120/70/12", {"separator_unusual"}),
        ("3,50-10", {"decimal_comma"}),
        ("12O/70-12", {"ocr_fixed"}),
    ],
)
def test_unusual_spelling_is_flagged(text, flags):
    assert parse_tyre(text).flags == flags


def test_unknown_load_or_speed_stays_unknown():
    reading = parse_tyre("120/70-12 99W")
    assert (reading.load_index, reading.speed_symbol) == (99, "W")
    assert (reading.max_load_kg, reading.max_kmh) == (None, None)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("120/70", "no_rim"),
        ("120/70 12", "no_rim"),
        ("3.50", "no_rim"),
        ("59/70-12", "out_of_range"),
        ("201/70-12", "out_of_range"),
        ("120/39-12", "out_of_range"),
        ("70/120-12", "out_of_range"),
        ("120/70-3", "out_of_range"),
        ("120/70-24", "out_of_range"),
        ("0.50-10", "out_of_range"),
        ("3.5-10", "not_recognised"),
        ("1200/70-12", "not_recognised"),
        ("3.505-10", "not_recognised"),
        ("120/70-12-4", "not_recognised"),
        ("120/70-12 sport", "not_recognised"),
        ("120/70-12 51L 52L", "contradictory"),
        ("120/70-12 TL TT", "contradictory"),
    ],
)
def test_what_is_no_tyre_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_tyre(text)
    assert refusal.value.reason == expected
