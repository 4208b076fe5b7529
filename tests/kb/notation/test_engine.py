"""Letters of GB/T 725: order and most letters published, E, Q and the class letters from memory.

Bores and strokes of the plausibility table: from memory; its volumes are computed from them.
"""

import math

import pytest

from kb.errors import BadNotation
from kb.notation.engine import format_engine, is_displacement_plausible, parse_engine


@pytest.mark.parametrize(
    ("code", "bore_mm", "stroke_mm", "class_cc"),
    [
        ("139QMB", 39, 41.4, 50),
        ("1E41QMB", 41, 37.4, 50),
        ("144QMC", 44, 41.4, 60),
        ("147QMD", 47, 41.4, 70),
        ("150QME", 50, 41.4, 80),
        ("150FMG", 50, 49.5, 100),
        ("152FMH", 52.4, 49.5, 110),
        ("152QMI", 52.4, 57.8, 125),
        ("1P52QMI", 52.4, 57.8, 125),
        ("157QMJ", 57.4, 57.8, 150),
        ("161QMK", 61, 57.8, 175),
    ],
)
def test_usual_engines_are_plausible_and_near_their_class(code, bore_mm, stroke_mm, class_cc):
    reading = parse_engine(code)
    assert reading.class_cc == class_cc
    assert reading.flags == frozenset()
    volume_cc = math.pi / 4 * bore_mm**2 * stroke_mm / 1000
    assert volume_cc == pytest.approx(class_cc, rel=0.05)


@pytest.mark.parametrize(
    ("class_cc", "expected"), [(82.8, False), (82.9, True), (138.0, True), (138.1, False)]
)
def test_limits_of_plausibility(class_cc, expected):
    # bore 52: pi/4 * 52^3 = 110.44 cc at stroke = bore; 0.75 of it 82.83, 1.25 of it 138.05
    assert is_displacement_plausible(1, 52, class_cc=class_cc) is expected


@pytest.mark.parametrize(
    ("text", "code", "flags"),
    [
        ("139 Q M B", "139QMB", set()),
        ("139-QMB", "139QMB", set()),
        ("139-QMB-a2", "139QMB-A2", set()),
        ("QMB139", "139QMB", {"reordered"}),
        ("qmi 1p52", "1P52QMI", {"reordered"}),
        ("MJ157", "157MJ", {"reordered"}),
        ("I39QMB", "139QMB", {"ocr_fixed"}),
        ("139OMB", "139QMB", {"ocr_fixed"}),
        ("139QM8", "139QMB", {"ocr_fixed"}),
        ("152QM1", "152QMI", {"ocr_fixed"}),
        ("1P5lQMI", "1P51QMI", {"ocr_fixed"}),
        ("152QMJ", "152QMJ", {"displacement_implausible"}),
        ("2V53FMM", "2V53FMM", set()),
        ("1PE41FMB", "1PE41FMB", set()),
        ("*139QMB*a123 456*", "*139QMB*A123 456*", set()),
        ("139QMB*123", "*139QMB*123*", set()),
        ("*139QMB*", "139QMB", set()),
    ],
)
def test_spellings_of_the_trade_give_one_code(text, code, flags):
    reading = parse_engine(text)
    assert format_engine(reading) == code
    assert reading.flags == flags
    assert format_engine(parse_engine(code)) == code


def test_places_of_the_code_give_the_facts():
    reading = parse_engine("2VE50FMM-3")
    assert (reading.cylinders, reading.arrangement, reading.strokes, reading.bore_mm) == (2, "v", 2, 50)
    assert (reading.cooling, reading.use, reading.class_letter, reading.suffix) == (
        "natural_air",
        "motorcycle",
        "M",
        "3",
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("39QMB", "not_recognised"),
        ("19QMB", "not_recognised"),
        ("039QMB", "not_recognised"),
        ("IP52QMI", "not_recognised"),  # the I touches no digit
        ("1PlOQMI", "not_recognised"),  # no digit in the bore
        ("1-39-QMB", "not_recognised"),
        ("139QMBX", "not_recognised"),
        ("**", "not_recognised"),
        ("100QMB", "out_of_range"),
        ("139XMB", "unknown_cooling_letter"),
        ("139QTB", "not_motorcycle"),
        ("139QGB", "not_motorcycle"),
        ("139QMN", "unknown_class_letter"),
        ("", "empty"),
    ],
)
def test_what_is_no_designation_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_engine(text)
    assert refusal.value.reason == expected
