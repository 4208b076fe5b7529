"""Demand classes around their cut-offs: 1.32 months between demands, 0.49 squared variation."""

import pytest

from kb.rules.reorder.demand_class import DemandClass, DemandPattern, compute_demand_pattern


@pytest.mark.parametrize(
    ("history", "expected"),
    [
        # 33 months, 25 with demand: 1.32 exactly is still frequent; 24 are not.
        ([1] * 25 + [0] * 8, DemandClass.SMOOTH),
        ([1] * 24 + [0] * 9, DemandClass.INTERMITTENT),
        # Sizes 3 and 17: mean 10, deviation 7, squared variation 0.49 exactly; 2 and 18: 0.64.
        ([3, 17], DemandClass.SMOOTH),
        ([2, 18], DemandClass.ERRATIC),
        ([3, 17, 0], DemandClass.INTERMITTENT),
        ([2, 18, 0], DemandClass.LUMPY),
    ],
)
def test_class_changes_just_beyond_a_cut_off(history, expected):
    # Cut-offs: Syntetos, Boylan & Croston 2005, from memory.
    assert compute_demand_pattern(history).demand_class is expected


@pytest.mark.parametrize("history", [[], [0, 0, 0]])
def test_part_that_never_sold_has_no_figures(history):
    assert compute_demand_pattern(history) == DemandPattern(DemandClass.NO_DEMAND, None, None)
