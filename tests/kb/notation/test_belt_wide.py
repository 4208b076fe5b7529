"""Sections of ISO 1604 (from memory)."""

import pytest

from kb.errors import BadNotation
from kb.notation.belt_wide import format_belt_wide, parse_belt_wide


@pytest.mark.parametrize("section", ["W16", "W20", "W25", "W31.5", "W40", "W50", "W63", "W80", "W100"])
def test_the_nine_sections_are_known(section):
    assert parse_belt_wide(f"{section} 900 mm").section == section


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("W30-800", "unknown_section"),
        ("W25", "too_few_numbers"),
        ("W25-800-3", "too_many_numbers"),
        ("W25--800", "not_recognised"),
        ("25-800", "not_recognised"),
        ("W25-25", "out_of_range"),
    ],
)
def test_others_are_refused(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_belt_wide(text)
    assert refusal.value.reason == expected


def test_one_spelling():
    assert format_belt_wide(parse_belt_wide("w 31·5 × 1000")) == "W31.5-1000"
