"""Loops of successors, found without recursion, compared with a general-purpose search for cycles."""

from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from kb.edits.replacements import find_loops


def test_long_chain_has_no_loop():
    assert find_loops({number: [number + 1] for number in range(100_000)}) == []


def test_long_loop_is_found_once():
    successors = {number: [(number + 1) % 100_000] for number in range(100_000)}
    [loop] = find_loops(successors)
    assert loop == list(range(100_000))


def test_two_loops_and_a_tail_that_leads_into_one():
    assert find_loops({1: [2], 2: [1], 3: [4], 4: [3], 5: [1]}) == [[1, 2], [3, 4]]


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=30))
def test_loop_is_found_wherever_a_strongly_connected_component_says_so(edges):
    """scipy's components: a graph has a loop when a component has two members or an edge onto itself."""
    successors = {}
    for part, by_part in edges:
        successors.setdefault(part, []).append(by_part)
    rows, columns = zip(*edges, strict=True)
    graph = coo_array(([1] * len(edges), (rows, columns)), shape=(10, 10)).tocsr()
    count, _labels = connected_components(graph, directed=True, connection="strong")
    has_loop = count < 10 or any(part == by_part for part, by_part in edges)
    loops = find_loops(successors)
    assert bool(loops) == has_loop
    for loop in loops:
        assert all(by in successors[part] for part, by in zip(loop, [*loop[1:], loop[0]], strict=True))
