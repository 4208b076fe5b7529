"""Source of the sizes: AS568-013 agrees with a published table of ISO 3601 sizes; the others from memory."""

import pytest

from kb.errors import BadNotation
from kb.notation.o_ring import format_o_ring, parse_o_ring


@pytest.mark.parametrize(
    ("text", "expected", "sizes"),
    [
        ("15x2 mm", "15x2", (15, 2)),
        ("2-15", "15x2", (15, 2)),
        ("15x2,5", "15x2.5", (15, 2.5)),
        ("AS 568A-013", "AS568-013", (10.82, 1.78)),
        ("p 15", "P15", (14.8, 2.4)),
        ("P22.4", "P22.4", (22.1, 3.5)),
        ("P1O", "P10", (9.8, 1.9)),
        ("AS568-999", "AS568-999", (None, None)),
        ("G25", "G25", (None, None)),
        ("1000x5", "1000x5", (1000, 5)),
    ],
)
def test_o_ring_has_one_spelling(text, expected, sizes):
    reading = parse_o_ring(text)
    assert format_o_ring(reading) == expected
    assert (reading.id_mm, reading.section_mm) == sizes


def test_code_outside_the_table_is_flagged():
    assert parse_o_ring("G25").flags == {"dimensions_not_in_table"}
    assert parse_o_ring("P15").flags == frozenset()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("15", "too_few_numbers"),
        ("15x2x3", "too_many_numbers"),
        ("15x15", "out_of_range"),
        ("15x0", "out_of_range"),
        ("1000.1x5", "out_of_range"),
        ("15xx2", "not_recognised"),
        ("-013", "not_recognised"),
        ("ring", "not_recognised"),
    ],
)
def test_what_is_no_o_ring_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_o_ring(text)
    assert refusal.value.reason == expected
