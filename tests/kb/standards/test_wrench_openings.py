"""Sources: ISO 691 (from memory, not confirmed); ASME B18.2.2 formula (published)."""

import pytest

from kb.standards.wrench_openings import find_wrench_opening, list_wrench_openings


def test_metric_tool_goes_on_its_nut():
    # the largest nut is the nominal size (ISO 4759-1), so the smallest opening must be above it
    for row in list_wrench_openings():
        assert row.size_mm < row.opening_smallest_mm < row.opening_largest_mm


def test_inch_rule_column_follows_the_formula_of_asme_b18_2_2():
    for row in list_wrench_openings():
        smallest = 1.005 * row.size_mm + 0.001 * 25.4
        assert row.inch_rule_smallest_mm == pytest.approx(smallest, abs=0.006)
        assert row.inch_rule_largest_mm == pytest.approx(smallest + 0.005 * row.size_mm + 0.1016, abs=0.006)


def test_unconfirmed_limits_say_so():
    assert all("from memory, not confirmed" in row.source for row in list_wrench_openings())


@pytest.mark.parametrize(("size", "largest"), [(38.0, 38.6), (17.0, 17.3), (8.0, 8.15)])
def test_tool_of_a_size_is_found(size, largest):
    # ISO 691, from memory
    assert find_wrench_opening(size).opening_largest_mm == largest


@pytest.mark.parametrize("size", [38.1, 38.006, 25.0])
def test_tool_of_another_size_is_not_found(size):
    assert find_wrench_opening(size) is None
