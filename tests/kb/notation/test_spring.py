"""Ratings in rpm: common practice, no source. Signs L0, d, D, n: as in EN 13906-1 (from memory)."""

import pytest

from kb.errors import BadNotation
from kb.notation.spring import format_spring, parse_spring


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1500rpm", "1500 rpm"),
        ("3x1500 RPM", "3 x 1500 rpm"),
        ("3 pcs 1500 r/min", "3 x 1500 rpm"),
        ("set of 3: 1500 1/min", "3 x 1500 rpm"),
        ("300 rpm", "300 rpm"),
        ("12 x 8000 rpm", "12 x 8000 rpm"),
        ("n=6 D=50 d=4 L0=90mm", "L0=90 d=4 D=50 n=6"),
        ("Lo = 90, d = 4,5 mm", "L0=90 d=4.5"),
        ("L₀=90; D=50", "L0=90 D=50"),
        ("d=4", "d=4"),
    ],
)
def test_spring_has_one_spelling(text, expected):
    assert format_spring(parse_spring(text)) == expected
    assert parse_spring(expected) == parse_spring(format_spring(parse_spring(expected)))


def test_wire_and_coil_are_told_apart_by_letter_case():
    reading = parse_spring("D=50 d=4")
    assert (reading.coil_mm, reading.wire_mm, reading.free_length_mm, reading.rated_rpm) == (
        50,
        4,
        None,
        None,
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1500", "missing_unit"),
        ("3 x 1500", "missing_unit"),
        ("299 rpm", "out_of_range"),
        ("8001 rpm", "out_of_range"),
        ("0 x 1500 rpm", "out_of_range"),
        ("13 x 1500 rpm", "out_of_range"),
        ("L0=4.9", "out_of_range"),
        ("L0=400.1", "out_of_range"),
        ("d=15.1", "out_of_range"),
        ("D=151", "out_of_range"),
        ("n=0", "out_of_range"),
        ("d=4 d=5", "contradictory"),
        ("d=4 D=4", "contradictory"),
        ("L0=24 d=4 n=6", "contradictory"),
        ("L0=90 x", "not_recognised"),
        ("l0=90 D=50 X=3", "not_recognised"),
        ("yellow", "not_recognised"),
    ],
)
def test_what_is_no_spring_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_spring(text)
    assert refusal.value.reason == expected
