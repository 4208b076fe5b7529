"""Sources: the inch is 25.4 mm; metric tool sizes of ISO 691 (from memory)."""

import pytest

from kb.rules.tools.owned_tool import OwnedTool, find_inch_size, format_tool_size
from kb.terms import ToolKind


@pytest.mark.parametrize(
    ("size_mm", "inch"),
    [(38.1, "1-1/2"), (19.05, "3/4"), (9.5, "3/8"), (26.99, "1-1/16"), (7.94, "5/16"), (46.04, "1-13/16")],
)
def test_stored_inch_socket_is_recognised(size_mm, inch):
    # sizes as a shop would round them: 1-1/2 in = 38.1 mm, 1-1/16 in = 26.9875 mm
    assert find_inch_size(size_mm).size == inch


@pytest.mark.parametrize("size_mm", [38.0, 19.0, 27.0, 46.0, 4.0, 5.5, 25.0, 60.0])
def test_metric_size_stays_metric_even_beside_an_inch_size(size_mm):
    # 27 mm lies 0.013 mm from 1-1/16 in, 19 mm lies 0.05 mm from 3/4 in
    assert find_inch_size(size_mm) is None


@pytest.mark.parametrize(
    ("size_mm", "text"), [(38.1, "1-1/2 in (38.1 mm)"), (17.46, "11/16 in (17.46 mm)"), (5.5, "5.5 mm")]
)
def test_size_is_written_as_a_mechanic_says_it(size_mm, text):
    assert format_tool_size(size_mm) == text


def test_what_is_not_stated_about_a_tool_is_not_known():
    tool = OwnedTool("strap wrench", ToolKind.HOLDER)
    assert (tool.size_mm, tool.min_nm, tool.max_nm, tool.note, tool.owned) == (None, None, None, None, True)
