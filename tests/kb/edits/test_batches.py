"""Runs of ids in the journal."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from kb.edits.batches import find_runs


@given(st.sets(st.integers(1, 60)).map(sorted))
def test_runs_hold_exactly_the_ids_and_do_not_touch(ids):
    runs = find_runs(ids)
    assert [number for first, last in runs for number in range(first, last + 1)] == ids
    assert all(before[1] + 1 < after[0] for before, after in pairwise(runs))
