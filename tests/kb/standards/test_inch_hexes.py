"""Source: ASME B18.2.2, wrench-opening table (published) and formula; the inch is 25.4 mm."""

from fractions import Fraction

import pytest

from kb.standards.inch_hexes import find_inch_hex, list_inch_hexes


def test_size_in_millimetres_is_exact():
    for row in list_inch_hexes():
        whole, _, part = row.size.rpartition("-")
        exact = (Fraction(whole or 0) + Fraction(part)) * Fraction(254, 10)
        assert row.size_mm == pytest.approx(float(exact), abs=1e-9)


def test_openings_follow_the_formula_within_the_rounding_of_the_published_table():
    # published table against 1.005 W + 0.001 in and + 0.005 W + 0.004 in: at most 0.0014 in apart
    for row in list_inch_hexes():
        smallest = 1.005 * row.size_in + 0.001
        largest = smallest + 0.005 * row.size_in + 0.004
        assert row.opening_smallest_mm / 25.4 == pytest.approx(smallest, abs=0.0015)
        assert row.opening_largest_mm / 25.4 == pytest.approx(largest, abs=0.0015)


@pytest.mark.parametrize(
    ("size_mm", "size"),
    [
        (38.1, "1-1/2"), (19.05, "3/4"), (12.7, "1/2"), (25.4, "1"), (26.99, "1-1/16"), (7.94, "5/16"),
        (38.149, "1-1/2"), (38.051, "1-1/2"),
    ],
)  # fmt: skip
def test_inch_size_is_recognised_within_a_twentieth_of_a_millimetre(size_mm, size):
    assert find_inch_hex(size_mm).size == size


@pytest.mark.parametrize("size_mm", [38.0, 38.04, 38.16, 10.0, 63.5])
def test_other_sizes_are_no_inch_size(size_mm):
    assert find_inch_hex(size_mm) is None


def test_nearest_metric_size_is_named():
    # by arithmetic: 38.1 mm lies nearest to 38 mm, 19.05 mm to 19 mm
    assert (find_inch_hex(38.1).nearest_metric_mm, find_inch_hex(19.05).nearest_metric_mm) == (38.0, 19.0)


def test_published_and_computed_openings_are_told_apart():
    published = [row for row in list_inch_hexes() if row.source.endswith("published table")]
    computed = [row for row in list_inch_hexes() if row.source.endswith("formula")]
    assert (len(published), len(computed)) == (27, 8)
