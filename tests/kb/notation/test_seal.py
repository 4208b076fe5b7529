"""ISO 6194 sizes (from memory); largest is housing, smallest is width: judgement of this project."""

import pytest

from kb.errors import BadNotation
from kb.notation.seal import format_seal, parse_seal


@pytest.mark.parametrize(
    ("text", "expected", "flags"),
    [
        ("20x35x7", "20x35x7", set()),
        ("20-35-7 mm TC", "TC 20x35x7", set()),
        ("tc20x35x7", "TC 20x35x7", set()),
        ("20,35,7", "20x35x7", set()),
        ("7x20x35", "20x35x7", {"reordered"}),
        ("2Ox35x7", "20x35x7", {"ocr_fixed"}),
        ("19,8x30x5", "19.8x30x5", {"decimal_comma"}),
        ("7x20x7", "7x20x7", set()),
        ("499x500x7", "499x500x7", set()),
    ],
)
def test_seal_has_one_spelling(text, expected, flags):
    reading = parse_seal(text)
    assert format_seal(reading) == expected
    assert reading.flags == flags


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("20x35", "too_few_numbers"),
        ("20x35x7x9", "too_many_numbers"),
        ("20x20x7", "out_of_range"),
        ("20x35x0", "out_of_range"),
        ("20x500.1x7", "out_of_range"),
        ("TC", "not_recognised"),
        ("TC 20x35x7 SC", "not_recognised"),
        ("20x35xx7", "not_recognised"),
        ("20x35x7 (2)", "not_recognised"),
    ],
)
def test_what_is_no_seal_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_seal(text)
    assert refusal.value.reason == expected
