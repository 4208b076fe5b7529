"""Sources: DIN 475-1:1984 and ISO 4032 published rows; ISO 286-1 tolerance grades from memory."""

import pytest

from kb.standards.hex_across_flats import list_hexagons
from kb.standards.hex_tolerances import find_hex_tolerance


@pytest.mark.parametrize(
    ("size", "grade", "smallest"),
    [  # published DIN 475-1:1984 rows
        (16.0, "A", 15.73),
        (19.0, "A", 18.67),
        (24.0, "A", 23.67),
        (32.0, "A", 31.61),
        (34.0, "A", 33.38),
        (18.0, "B", 17.57),
        (19.0, "B", 18.48),
        (20.0, "B", 19.16),
        (24.0, "B", 23.16),
        (36.0, "B", 35.0),
        # published ISO 4032 rows at the ends of the diameter steps
        (5.5, "A", 5.32),
        (10.0, "A", 9.78),
        (18.0, "A", 17.73),
        (30.0, "B", 29.16),
        (46.0, "B", 45.0),
        (55.0, "B", 53.8),
    ],
)
def test_smallest_size_is_the_published_one(size, grade, smallest):
    assert size - find_hex_tolerance(size, grade).tolerance_mm == pytest.approx(smallest, abs=1e-9)


@pytest.mark.parametrize(
    ("size", "grade"),
    [(3.0, "A"), (80.1, "A"), (60.1, "B"), (10.0, "C")],
)
def test_outside_the_table_nothing_is_given(size, grade):
    assert find_hex_tolerance(size, grade) is None


def test_rule_gives_every_stored_row_of_grade_a_and_b():
    # the stored rows are read from ISO 4032, DIN 475-1 and JIS B 1189 or computed by this rule
    graded = [row for row in list_hexagons() if row.grade in {"A", "B"}]
    assert len(graded) == 104
    for row in graded:
        tolerance = find_hex_tolerance(row.across_flats_mm, row.grade)
        assert row.across_flats_mm - tolerance.tolerance_mm == pytest.approx(row.smallest_mm, abs=1e-9)
