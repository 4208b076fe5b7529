"""Pitches: ISO 261; designation: ISO 965-1 (both from memory; the table keeps its sources)."""

import pytest

from kb.errors import BadNotation
from kb.notation.thread import format_thread, parse_thread


@pytest.mark.parametrize(
    ("text", "pitch_mm", "series", "length_mm"),
    [
        ("M8", 1.25, "coarse", None),
        ("M8x1.25", 1.25, "coarse", None),
        ("M8x1", 1, "fine", None),
        ("M8x3", 1.25, "coarse", 3),
        ("M8x1000", 1.25, "coarse", 1000),
        ("M10x1.5x25", 1.5, "coarse", 25),
        ("M28", None, None, None),
        ("M28x40", None, None, 40),
        ("M11x1.5", 1.5, None, None),
        ("M100x6", 6, None, None),
        ("M1", None, None, None),
    ],
)
def test_second_number_is_a_pitch_when_it_can_be_one(text, pitch_mm, series, length_mm):
    reading = parse_thread(text)
    assert (reading.pitch_mm, reading.series, reading.length_mm) == (pitch_mm, series, length_mm)


@pytest.mark.parametrize(
    ("text", "hand"),
    [
        ("M10x1.25", "right"),
        ("M10x1.25 RH", "right"),
        ("M10x1.25 right-hand", "right"),
        ("M10x1.25LH", "left"),
        ("m10x1.25 lh", "left"),
        ("M10x1.25-left hand", "left"),
    ],
)
def test_hand_is_right_unless_written(text, hand):
    assert parse_thread(text).hand == hand


def test_classes_are_kept_as_written():
    reading = parse_thread("M8x25-6g-8.8-LH")
    assert (reading.tolerance_class, reading.property_class, reading.hand) == ("6g", "8.8", "left")
    assert parse_thread("M8 6H").tolerance_class == "6H"
    assert parse_thread("M6x20 a2-70").property_class == "A2-70"


@pytest.mark.parametrize(
    ("text", "flags"),
    [
        ("M12x1.6", {"pitch_not_listed"}),
        ("M28", {"pitch_not_listed"}),
        ("10x1,25", {"prefix_missing", "decimal_comma"}),
        ("M1Ox1.25", {"ocr_fixed"}),
        ("М10х1.25", set()),
    ],
)
def test_what_was_assumed_is_flagged(text, flags):
    assert parse_thread(text).flags == flags


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("M", "too_few_numbers"),
        ("M x", "too_few_numbers"),
        ("M8x1.25x25x3", "too_many_numbers"),
        ("M8x2", "out_of_range"),  # above the coarse pitch, so a length, and too short
        ("M8x1.25x2.9", "out_of_range"),
        ("M8x1001", "out_of_range"),
        ("M8x25x30", "out_of_range"),
        ("M8x0", "out_of_range"),
        ("M0.9", "out_of_range"),
        ("M101", "out_of_range"),
        ("M8-12.8", "not_recognised"),
        ("M8-1.25", "not_recognised"),
        ("M8x", "not_recognised"),
        ("nut", "not_recognised"),
        ("M8-8.8-10.9", "contradictory"),
        ("M8 LH RH", "contradictory"),
        ("1/4-20 UNC", "inch_thread"),
        ("10-32 UNF", "inch_thread"),
        ('5/16"', "inch_thread"),
        ("#10", "inch_thread"),
        ("M10x1,250", "ambiguous_separator"),
    ],
)
def test_what_is_no_metric_thread_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_thread(text)
    assert refusal.value.reason == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("m8", "M8x1.25"),
        ("M8 x 25 8.8 left", "M8x1.25x25-8.8-LH"),
        ("M14x1.5-6g", "M14x1.5-6g"),
        ("M28x40", "M28x40"),
    ],
)
def test_thread_has_one_spelling(text, expected):
    assert format_thread(parse_thread(text)) == expected
    assert format_thread(parse_thread(expected)) == expected
