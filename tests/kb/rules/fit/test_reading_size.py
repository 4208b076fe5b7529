"""From readings to sizes and positions. Readings: documented notations of this project (judgement)."""

import pytest

from kb.notation.read import read_code
from kb.rules.fit.reading_size import build_sizes, list_positions_of_kind


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("743-20-30", "belt", {"length_mm": 743.0, "top_width_mm": 20.0, "angle_deg": 30.0}),
        ("743 Li 20 30", "belt", {"length_mm": 743.0, "length_kind": "inside"}),
        ("1922V282", "belt_inch", {"length_kind": "pitch", "angle_deg": 22.0}),
        ("W25-800", "belt_wide", {"length_mm": 800.0, "top_width_mm": None}),
        ("16x13 3x6g+3x7g", "roller", {"mass_g": 6.5, "count": 6}),
        ("M10x1.25 LH", "thread", {"thread": "M10x1.25-LH"}),
        (
            "6004-2RS C3",
            "bearing",
            {"bore_mm": 20.0, "outside_mm": 42.0, "width_mm": 12.0, "clearance": "C3"},
        ),
        ("20x35x7", "seal", {"bore_mm": 20.0, "outside_mm": 35.0, "width_mm": 7.0}),
        ("34x2", "oring", {"bore_mm": 34.0, "width_mm": 2.0}),
    ],
)
def test_numbers_of_each_notation(text: str, kind: str, expected: dict[str, object]) -> None:
    (asked,) = build_sizes(read_code(text, kind), text)
    assert {name: getattr(asked.size, name) for name in expected} == expected


def test_both_readings_of_a_belt_are_given() -> None:
    sizes = [asked.size for asked in build_sizes(read_code("1000-24-28"), "1000-24-28")]
    assert [(size.top_width_mm, size.angle_deg) for size in sizes] == [(24.0, 28.0), (28.0, 24.0)]


def test_six_behind_a_roller_may_be_mass_or_number() -> None:
    sizes = [asked.size for asked in build_sizes(read_code("16x13 6", "roller"), "16x13 6")]
    assert [(size.mass_g, size.count) for size in sizes] == [(6.0, None), (None, 6)]


def test_code_without_clearance_is_read_as_normal_and_says_so() -> None:
    (asked,) = build_sizes(read_code("6004-2RS"), "6004-2RS")
    assert asked.size.clearance == "CN"
    assert any("normal clearance" in text for text in asked.cautions)


def test_what_is_no_part_has_no_position() -> None:
    assert list_positions_of_kind(read_code("120/70-12")) == ()
    assert [str(place) for place in list_positions_of_kind(read_code("743-20-30"))] == ["drive_belt"]
