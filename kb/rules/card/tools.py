"""Tools that a job needs, held against the shop's own: what is there, what is not, what may stand in.

Sockets and keys follow from the fasteners, torque wrenches from the printed torque, holders and the rest from
the words of the job sheet. A tool that the shop does not list is one that it does not own.

Source: judgement of this project on the rules of ``kb.rules.tools``.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from kb.rules.card.values import CardFastener, CardTool, JobStep, ToolSetting
from kb.rules.tools.fit_tools import NAME_OF_KIND, TOOL_KIND_OF_DRIVE, ToolChoice, choose_tool
from kb.rules.tools.owned_tool import OwnedTool
from kb.rules.tools.torque_wrench import choose_torque_wrench, format_band
from kb.terms import FastenerDrive, Position, ToolKind

_RING_WORDS = re.compile(
    r"\bring nut\b|\bslot(?:s|ted)?\b|\bcastellated\b|\bhook spanner\b|\bc-spanner\b", re.I
)
_KINDS_WITH_SIZE = (ToolKind.SOCKET, ToolKind.HEX_KEY)


def list_card_tools(
    fasteners: Sequence[CardFastener], steps: Sequence[JobStep], owned: Sequence[OwnedTool]
) -> tuple[CardTool, ...]:
    """Tools of the job: sockets and keys, torque wrenches, holders, then what the steps name.

    Args:
        fasteners: fasteners of the card.
        steps: steps of the job.
        owned: tools of the shop, owned or only listed.

    Returns:
        Each tool once, with the positions and steps that it is for.
    """
    steps_at: dict[Position, tuple[int, ...]] = {}
    for step in steps:
        if step.position is not None:
            steps_at[step.position] = (*steps_at.get(step.position, ()), step.step)
    wanted = [
        *_list_sockets(fasteners, owned),
        *_list_torque_wrenches(fasteners, owned),
        *_list_holders(fasteners, owned),
    ]
    placed = [
        replace(tool, steps=tuple(number for place in tool.positions for number in steps_at.get(place, ())))
        for tool in wanted
    ]
    return _join([*placed, *_list_step_tools(fasteners, steps, owned)])


def _list_sockets(fasteners: Sequence[CardFastener], owned: Sequence[OwnedTool]) -> Iterator[CardTool]:
    for fastener in fasteners:
        row = fastener.stated
        if row.drive is None:
            continue
        kind = TOOL_KIND_OF_DRIVE[row.drive]
        if row.drive is FastenerDrive.SLOTTED_RING:
            choice = _choose_ring_tool(row.across_flats_mm, owned)
        else:
            choice = choose_tool(kind, row.across_flats_mm, owned)
        yield _build(choice, kind, (row.position,))


def _choose_ring_tool(size_mm: float | None, owned: Sequence[OwnedTool]) -> ToolChoice:
    """The shop's wrench for slotted ring nuts, with the size recorded; nothing stands in for it."""
    fitting = [tool for tool in owned if tool.kind is ToolKind.OTHER and _RING_WORDS.search(tool.tool)]
    for tool in sorted(fitting, key=lambda tool: not tool.owned):
        text = f"{tool.tool}: {'check that its slots suit this nut' if tool.owned else 'not owned'}."
        return _choice(tool.tool, size_mm, owned=tool.owned, text=text)
    return _choice("ring nut wrench", size_mm, owned=False, text="A wrench for slotted ring nuts: not owned.")


def _choice(name: str, size_mm: float | None, *, owned: bool, text: str) -> ToolChoice:
    return ToolChoice(
        tool=name, size_mm=size_mm, owned=owned, stand_in=None, verdict=None, measure=False, text=text
    )


def _build(choice: ToolChoice, kind: ToolKind, positions: tuple[Position, ...]) -> CardTool:
    return CardTool(
        tool=choice.tool,
        kind=kind,
        size_mm=choice.size_mm,
        owned=choice.owned,
        stand_in=choice.stand_in,
        positions=positions,
        steps=(),
        measure=choice.measure,
        text=choice.text,
    )


def _list_torque_wrenches(
    fasteners: Sequence[CardFastener], owned: Sequence[OwnedTool]
) -> Iterator[CardTool]:
    for fastener in fasteners:
        row = fastener.stated
        if not row.torque.is_known:
            continue
        choice = choose_torque_wrench(row.torque, owned)
        settings: tuple[ToolSetting, ...] = ()
        if choice.setting_nm is not None:
            settings = (
                ToolSetting(
                    position=row.position,
                    setting_nm=choice.setting_nm,
                    is_computed=choice.is_setting_computed,
                    deviation_nm=choice.deviation_nm,
                    source=row.source.name,
                    warnings=choice.warnings,
                ),
            )
        name = choice.tool.tool if choice.tool else f"torque wrench for {format_band(row.torque)}"
        place = row.position.replace("_", " ")
        refused = () if choice.tool else choice.refused
        text = " ".join((f"{place}: {choice.text}", *choice.warnings, *(f"{why}." for why in refused)))
        yield CardTool(
            tool=name,
            kind=ToolKind.TORQUE_WRENCH,
            size_mm=None,
            owned=choice.tool is not None,
            stand_in=None,
            positions=(row.position,),
            steps=(),
            measure=False,
            text=text,
            settings=settings,
        )


def _list_holders(fasteners: Sequence[CardFastener], owned: Sequence[OwnedTool]) -> Iterator[CardTool]:
    """Holding tools of the shop that the text on holding names."""
    for fastener in fasteners:
        held_by = (fastener.stated.holding or "").casefold()
        named = [tool for tool in owned if tool.kind is ToolKind.HOLDER and tool.tool.casefold() in held_by]
        for tool in named:
            yield _describe(tool, owned, (fastener.stated.position,))


def _describe(tool: OwnedTool, owned: Sequence[OwnedTool], positions: tuple[Position, ...]) -> CardTool:
    """A listed tool; a socket or key that is not owned may have a stand-in."""
    if tool.kind in _KINDS_WITH_SIZE and tool.size_mm is not None:
        return _build(choose_tool(tool.kind, tool.size_mm, owned), tool.kind, positions)
    note = f" ({tool.note})" if tool.note else ""
    check = ", check that it suits this machine" if tool.kind is ToolKind.HOLDER else ""
    text = f"{tool.tool}{note}: {f'owned{check}' if tool.owned else 'not owned'}."
    return _build(_choice(tool.tool, tool.size_mm, owned=tool.owned, text=text), tool.kind, positions)


def _list_step_tools(
    fasteners: Sequence[CardFastener], steps: Sequence[JobStep], owned: Sequence[OwnedTool]
) -> Iterator[CardTool]:
    torqued = {item.stated.position for item in fasteners if item.stated.torque.is_known}
    for step in steps:
        if not step.tool:
            continue
        tool = find_tool(step.tool, owned)
        kind = tool.kind if tool else _guess_kind(step.tool)
        if kind is ToolKind.TORQUE_WRENCH and step.position in torqued:
            continue  # chosen by the printed torque
        positions = (step.position,) if step.position else ()
        if tool is None:
            text = f"{step.tool}: not on the shop's list of tools."
            described = _build(_choice(step.tool, None, owned=False, text=text), kind, positions)
        else:
            described = _describe(tool, owned, positions)
        yield replace(described, steps=(step.step,))


def find_tool(name: str, owned: Sequence[OwnedTool]) -> OwnedTool | None:
    """The shop's tool of that name, else one whose name holds all its words, an owned one first.

    Example:
        >>> find_tool("Caliper", [OwnedTool("caliper", ToolKind.OTHER)]).tool
        'caliper'
    """
    key = name.casefold().strip()
    exact = [tool for tool in owned if tool.tool.casefold() == key]
    words = set(key.split())
    similar = [tool for tool in owned if words <= set(tool.tool.casefold().split())]
    for tool in (*exact, *sorted(similar, key=lambda tool: not tool.owned)):
        return tool
    return None


def _guess_kind(name: str) -> ToolKind:
    folded = name.casefold()
    for kind in (ToolKind.TORQUE_WRENCH, ToolKind.SOCKET, ToolKind.HEX_KEY):
        if NAME_OF_KIND[kind] in folded:
            return kind
    return ToolKind.OTHER


def _join(tools: Sequence[CardTool]) -> tuple[CardTool, ...]:
    """Each tool once, with all that it is for."""
    joined: dict[tuple[str, float | None], CardTool] = {}
    for tool in tools:
        key = (tool.tool, tool.size_mm)
        if key not in joined:
            joined[key] = replace(tool, steps=tuple(dict.fromkeys(tool.steps)))
            continue
        known = joined[key]
        joined[key] = replace(
            known,
            positions=tuple(dict.fromkeys((*known.positions, *tool.positions))),
            steps=tuple(sorted({*known.steps, *tool.steps})),
            settings=tuple(dict.fromkeys((*known.settings, *tool.settings))),
            text=known.text if tool.text in known.text else f"{known.text} {tool.text}",
        )
    return tuple(joined.values())
