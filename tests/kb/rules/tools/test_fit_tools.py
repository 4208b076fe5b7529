"""Sources: verdicts of the pairs as in test_inch_for_metric_verdicts; 25.4 mm per inch."""

import pytest

from kb.errors import BadInput
from kb.rules.tools.fit_tools import TOOL_KIND_OF_DRIVE, choose_tool, is_same_size
from kb.rules.tools.owned_tool import OwnedTool
from kb.terms import FastenerDrive, ToolKind


def socket(name: str, size_mm: float | None, *, owned: bool = True) -> OwnedTool:
    return OwnedTool(name, ToolKind.SOCKET, size_mm=size_mm, owned=owned)


def test_owned_socket_of_the_size_does_the_job():
    choice = choose_tool(ToolKind.SOCKET, 38.0, [socket("1-1/2", 38.1), socket("38", 38.0)])
    assert (choice.tool, choice.owned, choice.stand_in, choice.measure) == ("38", True, None, False)


@pytest.mark.parametrize(
    ("nut_mm", "inch_mm", "verdict"),
    [
        (27.0, 26.99, "equal"),
        (38.0, 38.1, "near"),
        (24.0, 23.81, "try"),
        (39.0, 38.1, "tight_try"),
        (15.0, 15.08, "loose_hand_only"),
    ],
)
def test_inch_socket_stands_in_with_its_verdict_and_says_measure(nut_mm, inch_mm, verdict):
    choice = choose_tool(ToolKind.SOCKET, nut_mm, [socket("inch", inch_mm)])
    assert (choice.owned, choice.stand_in, choice.verdict) == (False, "inch", verdict)
    assert choice.tool == f"{nut_mm:g} mm socket"
    assert choice.measure
    assert "Measure the nut" in choice.text


@pytest.mark.parametrize(
    ("nut_mm", "inch_mm"),
    [(17.0, 17.46), (5.5, 5.556), (14.0, 14.29), (36.0, 36.51), (10.0, 9.525), (18.0, 19.05)],
)
def test_rejected_inch_socket_never_stands_in(nut_mm, inch_mm):
    choice = choose_tool(ToolKind.SOCKET, nut_mm, [socket("inch", inch_mm)])
    assert (choice.owned, choice.stand_in, choice.verdict) == (False, None, None)
    assert "nothing may stand in" in choice.text
    assert choice.measure


@pytest.mark.parametrize(
    ("inch_mm", "is_named"),
    [(17.46, True), (19.05, False), (9.525, False)],  # 11/16 is near enough to tempt; 3/4 and 3/8 are not
)
def test_tempting_wrong_socket_is_warned_of(inch_mm, is_named):
    choice = choose_tool(ToolKind.SOCKET, 17.0, [socket("inch", inch_mm)])
    assert ("do not use it" in choice.text) is is_named


def test_best_of_several_inch_sockets_stands_in():
    # 1-1/2 in on 38 mm is near, 1-7/16 in does not go on
    tools = [socket("1-7/16", 36.51), socket("1-1/2", 38.1), socket("1-9/16", 39.69)]
    assert choose_tool(ToolKind.SOCKET, 38.0, tools).stand_in == "1-1/2"


def test_measured_nut_is_not_told_to_be_measured():
    choice = choose_tool(ToolKind.SOCKET, 24.0, [socket("15/16", 23.81)], measured_mm=23.8)
    assert (choice.stand_in, choice.verdict, choice.measure) == ("15/16", "equal", False)
    assert "Measure" not in choice.text


def test_measuring_may_rule_a_stand_in_out():
    # 13/16 in opens to 20.98 mm (ASME B18.2.2): it does not go on a nut of 21.0 mm
    tools = [socket("13/16", 20.64)]
    assert choose_tool(ToolKind.SOCKET, 21.0, tools).stand_in == "13/16"
    measured = choose_tool(ToolKind.SOCKET, 21.0, tools, measured_mm=21.0)
    assert (measured.stand_in, measured.measure) == (None, False)


def test_measured_size_of_another_nut_is_refused():
    with pytest.raises(BadInput, match="does not belong to a 38 mm nut"):
        choose_tool(ToolKind.SOCKET, 38.0, [socket("1-1/2", 38.1)], measured_mm=36.0)


def test_impact_tool_is_judged_one_step_stricter():
    tools = [socket("19/32", 15.08)]
    assert choose_tool(ToolKind.SOCKET, 15.0, tools).stand_in == "19/32"
    assert choose_tool(ToolKind.SOCKET, 15.0, tools, under_power=True).stand_in is None


def test_tool_that_is_only_listed_keeps_its_name_and_is_not_owned():
    tools = [socket("big 38", 38.0, owned=False), socket("listed 1-1/2", 38.1, owned=False)]
    choice = choose_tool(ToolKind.SOCKET, 38.0, tools)
    assert (choice.tool, choice.owned, choice.stand_in) == ("big 38", False, None)


def test_owned_tool_is_preferred_to_a_listed_one_of_the_same_size():
    tools = [socket("listed", 38.0, owned=False), socket("owned", 38.0)]
    assert choose_tool(ToolKind.SOCKET, 38.0, tools).tool == "owned"


def test_other_metric_sockets_and_sockets_of_unknown_size_do_not_stand_in():
    choice = choose_tool(ToolKind.SOCKET, 38.0, [socket("39", 39.0), socket("?", None)])
    assert (choice.tool, choice.stand_in, choice.measure) == ("38 mm socket", None, False)


def test_size_without_a_known_metric_tool_gets_no_stand_in():
    # 25 mm is in no table of metric tools here: unknown stays unknown
    assert choose_tool(ToolKind.SOCKET, 25.0, [socket("1", 25.4)]).stand_in is None


def test_inch_nut_takes_the_inch_socket_and_nothing_else():
    tools = [socket("19", 19.0), socket("3/4", 19.05)]
    assert choose_tool(ToolKind.SOCKET, 19.05, tools).tool == "3/4"
    missing = choose_tool(ToolKind.SOCKET, 19.05, [socket("19", 19.0), socket("7/8", 22.22)])
    assert (missing.tool, missing.stand_in) == ("3/4 in (19.05 mm) socket", None)


def test_hex_key_has_no_inch_stand_in():
    keys = [OwnedTool("3/16 key", ToolKind.HEX_KEY, size_mm=4.76)]
    choice = choose_tool(ToolKind.HEX_KEY, 5.0, keys)
    assert (choice.tool, choice.owned, choice.stand_in) == ("5 mm hex key", False, None)


def test_owned_hex_key_of_the_size_does_the_job():
    keys = [OwnedTool("key 5", ToolKind.HEX_KEY, size_mm=5.0), socket("5", 5.0)]
    assert choose_tool(ToolKind.HEX_KEY, 5.0, keys).tool == "key 5"


@pytest.mark.parametrize("kind", [ToolKind.SOCKET, ToolKind.HEX_KEY])
def test_unknown_size_is_to_be_measured(kind):
    choice = choose_tool(kind, None, [OwnedTool("38", kind, size_mm=38.0)])
    assert (choice.owned, choice.stand_in, choice.measure) == (False, None, True)
    assert "measure it" in choice.text


def test_holding_tool_is_found_by_its_kind():
    tools = [OwnedTool("listed", ToolKind.HOLDER, owned=False), OwnedTool("bell holder", ToolKind.HOLDER)]
    choice = choose_tool(ToolKind.HOLDER, None, tools)
    assert (choice.tool, choice.owned) == ("bell holder", True)
    assert "check that it suits" in choice.text


@pytest.mark.parametrize(
    ("tools", "name"),
    [([], "holding tool"), ([OwnedTool("bell holder", ToolKind.HOLDER, owned=False)], "bell holder")],
)
def test_holding_tool_that_is_not_owned_is_said(tools, name):
    choice = choose_tool(ToolKind.HOLDER, None, tools)
    assert (choice.tool, choice.owned, choice.text) == (name, False, f"{name}: not owned.")


@pytest.mark.parametrize(
    ("tool_mm", "needed_mm", "is_same"),
    [
        (38.0, 38.0, True),
        (38.04, 38.0, True),  # an odd entry within a twentieth of a millimetre
        (37.96, 38.0, True),
        (37.94, 38.0, False),
        (38.1, 38.0, False),
        (19.05, 19.0, False),
        (26.99, 27.0, False),
        (38.1, 38.1, True),
        (38.11, 38.1, True),
        (None, 38.0, False),
    ],
)
def test_same_size_keeps_metric_and_inch_apart(tool_mm, needed_mm, is_same):
    assert is_same_size(tool_mm, needed_mm) is is_same


def test_every_drive_has_a_kind_of_tool():
    assert set(TOOL_KIND_OF_DRIVE) == set(FastenerDrive)
