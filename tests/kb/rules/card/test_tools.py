"""Tools of a job against the shop's own. Stand-ins follow the published opening table (ASME B18.2.2)."""

from kb.rules.card.fasteners import build_fasteners
from kb.rules.card.tools import find_tool, list_card_tools
from kb.rules.card.values import JobStep, StatedFastener
from kb.rules.source import SourceRef
from kb.rules.tools.owned_tool import OwnedTool
from kb.rules.tools.torque_band import TorqueBand
from kb.terms import FastenerDrive, Position, SourceKind, ToolKind

MANUAL = SourceRef("manual", SourceKind.MANUAL)


def make(position=Position.CLUTCH_NUT, **values):
    return build_fasteners([StatedFastener(position, MANUAL, **values)], [position])


def names(tools):
    return [(tool.tool, tool.owned, tool.stand_in) for tool in tools]


def test_no_tools_at_all_lists_every_tool_as_not_owned():
    fasteners = make(drive=FastenerDrive.HEX, across_flats_mm=38.0, torque=TorqueBand(50, 55, 60))
    steps = [JobStep(1, "Undo.", Position.CLUTCH_NUT, fastener=True, tool="spring compressor")]
    found = list_card_tools(fasteners, steps, [])
    assert names(found) == [
        ("38 mm socket", False, None),
        ("torque wrench for 50 to 60 N·m", False, None),
        ("spring compressor", False, None),
    ]


def test_inch_socket_stands_in_and_the_nut_must_be_measured():
    owned = [
        OwnedTool("1-1/2 in", ToolKind.SOCKET, 38.1),
        OwnedTool("38", ToolKind.SOCKET, 38.0, owned=False),
    ]
    (found,) = list_card_tools(make(drive=FastenerDrive.HEX, across_flats_mm=38.0), [], owned)
    assert (found.tool, found.owned, found.stand_in, found.measure) == ("38", False, "1-1/2 in", True)


def test_slotted_ring_nut_never_gets_another_tool_of_the_drawer():
    owned = [
        OwnedTool("spring compressor", ToolKind.OTHER),
        OwnedTool("ring nut wrench 4 slots", ToolKind.OTHER, owned=False),
    ]
    (found,) = list_card_tools(make(drive=FastenerDrive.SLOTTED_RING), [], owned)
    assert (found.tool, found.owned) == ("ring nut wrench 4 slots", False)
    (bare,) = list_card_tools(make(drive=FastenerDrive.SLOTTED_RING), [], owned[:1])
    assert (bare.tool, bare.owned, bare.size_mm) == ("ring nut wrench", False, None)


def test_ring_nut_wrench_has_the_size_that_is_recorded():
    (found,) = list_card_tools(make(drive=FastenerDrive.SLOTTED_RING, across_flats_mm=41.0), [], [])
    assert (found.tool, found.size_mm) == ("ring nut wrench", 41.0)


def test_head_that_is_not_known_gets_no_socket():
    assert list_card_tools(make(across_flats_mm=38.0), [], [OwnedTool("38", ToolKind.SOCKET, 38.0)]) == ()


def test_torque_wrench_of_the_job_sheet_gives_way_to_the_one_that_covers_the_torque():
    owned = [
        OwnedTool("small", ToolKind.TORQUE_WRENCH, min_nm=5, max_nm=25),
        OwnedTool("large", ToolKind.TORQUE_WRENCH, min_nm=20, max_nm=110),
    ]
    steps = [JobStep(1, "Tighten.", Position.CLUTCH_NUT, fastener=True, tool="small")]
    found = list_card_tools(make(torque=TorqueBand(50, 55, 60)), steps, owned)
    assert names(found) == [("large", True, None)]
    assert found[0].settings[0].setting_nm == 55
    assert found[0].steps == (1,)


def test_torque_wrench_of_the_job_sheet_stays_where_the_torque_is_not_known():
    owned = [OwnedTool("small", ToolKind.TORQUE_WRENCH, min_nm=5, max_nm=25)]
    steps = [JobStep(1, "Tighten.", Position.CLUTCH_NUT, fastener=True, tool="small")]
    assert names(list_card_tools(make(), steps, owned)) == [("small", True, None)]


def test_holder_named_in_the_text_on_holding_is_listed():
    owned = [OwnedTool("bell holder", ToolKind.HOLDER)]
    (found,) = list_card_tools(make(Position.BELL_NUT, holding="strap or bell holder"), [], owned)
    assert (found.tool, found.positions) == ("bell holder", (Position.BELL_NUT,))


def test_one_tool_for_two_fasteners_is_listed_once():
    owned = [OwnedTool("8", ToolKind.SOCKET, 8.0)]
    rows = [
        StatedFastener(place, MANUAL, drive=FastenerDrive.HEX, across_flats_mm=8.0)
        for place in (Position.COVER_SCREWS, Position.AIRBOX_SCREWS)
    ]
    fasteners = build_fasteners(rows, [row.position for row in rows])
    (found,) = list_card_tools(fasteners, [], owned)
    assert found.positions == (Position.COVER_SCREWS, Position.AIRBOX_SCREWS)


def test_a_tool_is_found_by_words_an_owned_one_first():
    listed = [
        OwnedTool("micrometer 25 to 50", ToolKind.OTHER, owned=False),
        OwnedTool("micrometer 0 to 25", ToolKind.OTHER),
    ]
    assert find_tool("micrometer", listed).tool == "micrometer 0 to 25"
    assert find_tool("caliper", listed) is None
