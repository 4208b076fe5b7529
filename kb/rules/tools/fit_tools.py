"""Which owned tool fits a fastener; if none does, which owned inch tool may stand in.

A tool of the very size is taken first. An inch socket stands in for a metric one only by the criterion of
``inch_for_metric`` and never when that says no; unless the nut was measured the answer says to measure.
Hexagon keys have no stand-in: a loose key rounds the socket.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.rules.tools.inch_for_metric import (
    STAND_IN_ORDER,
    InchAnswer,
    InchVerdict,
    rank_inch_tool,
)
from kb.rules.tools.owned_tool import OwnedTool, find_inch_size, format_tool_size
from kb.standards.inch_hexes import InchHex
from kb.terms import FastenerDrive, ToolKind

SAME_SIZE_MM = 0.05
TEMPTING_MM = 1.0  # an inch tool this little too wide is worth a warning

TOOL_KIND_OF_DRIVE = {
    FastenerDrive.HEX: ToolKind.SOCKET,
    FastenerDrive.HEX_KEY: ToolKind.HEX_KEY,
    FastenerDrive.SLOTTED_RING: ToolKind.OTHER,
}

NAME_OF_KIND = {
    ToolKind.SOCKET: "socket",
    ToolKind.HEX_KEY: "hex key",
    ToolKind.TORQUE_WRENCH: "torque wrench",
    ToolKind.TORQUE_STICK: "torque-limiting bar",
    ToolKind.HOLDER: "holding tool",
    ToolKind.OTHER: "tool",
}


@dataclass(frozen=True, slots=True)
class ToolChoice:
    """Tool needed, whether it is owned, and what may stand in when it is not.

    ``tool`` is the shop's name of it where the shop lists it. ``measure`` is True when the answer rests on a
    nut that was not measured, or its size is not known.
    """

    tool: str
    size_mm: float | None
    owned: bool
    stand_in: str | None
    verdict: InchVerdict | None
    measure: bool
    text: str


def choose_tool(
    kind: ToolKind,
    size_mm: float | None,
    owned_tools: Sequence[OwnedTool],
    *,
    measured_mm: float | None = None,
    under_power: bool = False,
) -> ToolChoice:
    """Owned tool of the kind and size, else the inch socket that may stand in, else none.

    Args:
        kind: kind of tool; for a torque wrench ask ``choose_torque_wrench``, which knows its range.
        size_mm: nominal size [mm]; None when it is not known, or for tools without a size.
        owned_tools: tools of the shop, owned or only listed.
        measured_mm: size of the very nut [mm], None when it was not measured.
        under_power: with an impact tool; the criterion is one step stricter.

    Returns:
        Choice; ``stand_in`` is never a tool that the criterion rejects.

    Raises:
        BadInput: the measured size does not belong to a nut of this nominal size.

    Source: judgement of this project.

    Example:
        >>> inch = OwnedTool("1-1/2 socket", ToolKind.SOCKET, size_mm=38.1)
        >>> choice = choose_tool(ToolKind.SOCKET, 38.0, [inch])
        >>> choice.tool, choice.owned, choice.stand_in, choice.measure
        ('38 mm socket', False, '1-1/2 socket', True)
        >>> choose_tool(ToolKind.SOCKET, 39.0, [OwnedTool("42", ToolKind.SOCKET, size_mm=42.0)]).stand_in
    """
    of_kind = [tool for tool in owned_tools if tool.kind is kind]
    if size_mm is None:
        return _choose_by_kind(kind, of_kind)
    same_size = [tool for tool in of_kind if is_same_size(tool.size_mm, size_mm)]
    for tool in same_size:
        if tool.owned:
            text = f"{tool.tool} fits {format_tool_size(size_mm)}."
            return _own(tool.tool, size_mm, text)
    name = same_size[0].tool if same_size else f"{format_tool_size(size_mm)} {NAME_OF_KIND[kind]}"
    answers: list[tuple[OwnedTool, InchAnswer]] = []
    if kind is ToolKind.SOCKET:
        for tool, inch in _list_inch_tools(of_kind):
            answer = rank_inch_tool(size_mm, inch, measured_mm=measured_mm, under_power=under_power)
            if answer is not None:
                answers.append((tool, answer))
    return _choose_stand_in(name, size_mm, answers)


def is_same_size(tool_mm: float | None, needed_mm: float) -> bool:
    """Whether a tool has the very size, metric to metric and inch to inch.

    Example:
        >>> is_same_size(38.0, 38.0), is_same_size(26.99, 27.0), is_same_size(38.1, 38.1)
        (True, False, True)
    """
    if tool_mm is None:
        return False
    tool_inch, needed_inch = find_inch_size(tool_mm), find_inch_size(needed_mm)
    if tool_inch is not None or needed_inch is not None:
        return tool_inch == needed_inch
    return abs(tool_mm - needed_mm) <= SAME_SIZE_MM


def _list_inch_tools(tools: Sequence[OwnedTool]) -> list[tuple[OwnedTool, InchHex]]:
    found = []
    for tool in tools:
        inch = find_inch_size(tool.size_mm) if tool.owned and tool.size_mm is not None else None
        if inch is not None:
            found.append((tool, inch))
    return found


def _choose_by_kind(kind: ToolKind, tools: Sequence[OwnedTool]) -> ToolChoice:
    if kind in {ToolKind.SOCKET, ToolKind.HEX_KEY}:
        return ToolChoice(
            tool=f"{NAME_OF_KIND[kind]} of unknown size",
            size_mm=None,
            owned=False,
            stand_in=None,
            verdict=None,
            measure=True,
            text="The size is not known: measure it before choosing a tool.",
        )
    for tool in tools:
        if tool.owned:
            return _own(tool.tool, tool.size_mm, f"{tool.tool}: check that it suits this machine.")
    name = tools[0].tool if tools else NAME_OF_KIND[kind]
    return _missing(name, None, f"{name}: not owned.")


def _choose_stand_in(
    name: str, size_mm: float, answers: Sequence[tuple[OwnedTool, InchAnswer]]
) -> ToolChoice:
    usable = [entry for entry in answers if entry[1].verdict in STAND_IN_ORDER]
    if not usable:
        tempting = [
            f" {answer.text}"
            for _, answer in answers
            if answer.verdict is InchVerdict.REJECT and answer.fit.opening_smallest_mm - size_mm < TEMPTING_MM
        ]
        text = f"{name}: not owned and nothing may stand in.{''.join(tempting)}"
        return _missing(name, size_mm, text, measure=any(answer.measure for _, answer in answers))
    tool, answer = min(
        usable, key=lambda entry: (STAND_IN_ORDER.index(entry[1].verdict), entry[1].free_turn_deg)
    )
    return ToolChoice(
        tool=name,
        size_mm=size_mm,
        owned=False,
        stand_in=tool.tool,
        verdict=answer.verdict,
        measure=answer.measure,
        text=f"{name}: not owned. {answer.text}",
    )


def _own(name: str, size_mm: float | None, text: str) -> ToolChoice:
    return ToolChoice(
        tool=name, size_mm=size_mm, owned=True, stand_in=None, verdict=None, measure=False, text=text
    )


def _missing(name: str, size_mm: float | None, text: str, *, measure: bool = False) -> ToolChoice:
    return ToolChoice(
        tool=name, size_mm=size_mm, owned=False, stand_in=None, verdict=None, measure=measure, text=text
    )
