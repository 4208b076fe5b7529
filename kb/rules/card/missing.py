"""What a job lacks: facts that the catalogue does not hold, tools and parts that the shop does not have.

A person reads it before the first screw comes out. Facts on which sources disagree stand apart: nothing is
missing there, but somebody has to decide.

Source: judgement of this project.
"""

from collections.abc import Iterator, Sequence

from kb.rules.card.steps import format_torque
from kb.rules.card.values import CardFastener, CardLimit, CardPart, CardTool
from kb.rules.tools.hand import POSITIONS_ON_ROTATING_SHAFT
from kb.rules.tools.torque_sanity import TorqueState
from kb.terms import FastenerDrive, Hand, Outcome, Position

_SUSPECT = (TorqueState.TOO_HIGH, TorqueState.TOO_LOW)


def _say(name: str) -> str:
    return name.replace("_", " ")


def list_missing_facts(
    fasteners: Sequence[CardFastener], positions: Sequence[Position], limits: Sequence[CardLimit]
) -> Iterator[str]:
    """Facts that the catalogue lacks for a job, a sentence each."""
    for position in positions:
        rows = [item for item in fasteners if item.stated.position is position]
        if not rows:
            yield f"Nothing is recorded of the {_say(position)}: size, hand and torque are not known."
        else:
            yield from _list_lacking(position, rows)
    for item in limits:
        if item.limit.limit is None:
            yield f"Limit of {_say(item.quantity)} at the {_say(item.position)} is not known."


def _list_lacking(position: Position, rows: Sequence[CardFastener]) -> Iterator[str]:
    place = _say(position)
    stated = [item.stated for item in rows]
    if not any(row.torque.is_known for row in stated):
        limit = next((item.generic_limit for item in rows if item.generic_limit), None)
        beside = (
            f" Upper sanity limit {limit.highest_nm:g} N·m ({limit.label}), not a torque to use."
            if limit
            else ""
        )
        yield f"Torque of the {place} is not known; look it up in the maker's manual.{beside}"
    if any(item.hand is Hand.UNKNOWN for item in rows):
        yield f"Hand of the thread of the {place} is not known; look before applying force."
    if all(row.thread is None for row in stated):
        yield f"Thread of the {place} is not known."
    if all(row.drive is None for row in stated):
        yield f"Shape of the head of the {place} is not known; look before choosing a tool."
    needs_size = [row for row in stated if row.drive is not FastenerDrive.SLOTTED_RING]
    if needs_size and all(row.across_flats_mm is None for row in needs_size):
        yield f"Width across flats of the {place} is not known; measure it."
    if position in POSITIONS_ON_ROTATING_SHAFT and all(row.holding is None for row in stated):
        yield f"How to hold the {place} is not recorded."


def list_missing_tools(tools: Sequence[CardTool]) -> Iterator[str]:
    """Tools that the shop does not own, a sentence each, with the stand-in where there is one."""
    for tool in tools:
        if tool.owned:
            continue
        use = ", ".join(_say(position) for position in tool.positions)
        purpose = f" (for {use})" if use else ""
        if tool.stand_in:
            measure = " after measuring the nut" if tool.measure else ""
            yield f"Tool '{tool.tool}' is not owned{purpose}; '{tool.stand_in}' may stand in{measure}."
        else:
            yield f"Tool '{tool.tool}' is not owned{purpose}."


def list_missing_parts(parts: Sequence[CardPart]) -> Iterator[str]:
    """Parts that are not on the shelf or not known, a sentence each."""
    for item in parts:
        place = _say(item.position)
        if item.part is None:
            yield f"No part is known to do as {place}."
        elif item.on_hand < item.needed:
            name = f"{item.part.maker} {item.part.part_number}"
            stock = "none" if item.on_hand == 0 else f"only {item.on_hand}"
            yield f"Part for {place}: {stock} of {item.needed} on hand ({name}).{_name_stocked(item)}"


def _name_stocked(item: CardPart) -> str:
    """The first other part that is on the shelf, in half a sentence; empty where there is none."""
    other = next((other for other in item.others if other.part and other.on_hand >= other.needed), None)
    if other is None or other.part is None:
        return ""
    change = " with a change" if other.outcome is Outcome.FITS_WITH_CHANGE else ""
    return f" On the shelf: {other.part.maker} {other.part.part_number}, would do{change}."


def list_disagreements(fasteners: Sequence[CardFastener]) -> Iterator[str]:
    """Positions on which sources disagree, with what each says; none is chosen."""
    places = dict.fromkeys(item.stated.position for item in fasteners if item.differs)
    for position in places:
        rows = [item for item in fasteners if item.stated.position is position]
        names = sorted({name for item in rows for name in item.differs})
        said = "; ".join(f"{_describe_row(item, names)} by {item.stated.source.as_text()}" for item in rows)
        yield f"Sources differ on the {_say(position)}: {said}. None is chosen; settle it first."


def _describe_row(item: CardFastener, names: Sequence[str]) -> str:
    row = item.stated
    words = []
    if any(name.startswith("torque") for name in names):
        words.append(format_torque(row.torque))
    for name in names:
        if not name.startswith("torque"):
            value = getattr(row, name)
            words.append(f"{_say(name)} {value if value is not None else 'not stated'}")
    return ", ".join(words)


def list_torque_warnings(fasteners: Sequence[CardFastener]) -> Iterator[str]:
    """Stored torques that do not suit their thread, with what would explain them."""
    for item in fasteners:
        if item.sanity is not None and item.sanity.state in _SUSPECT:
            row = item.stated
            hints = " ".join(item.sanity.hints)
            said_by = row.source.name or row.source.as_text()
            yield (
                f"Torque of the {_say(row.position)} ({said_by}): {item.sanity.text} "
                f"({item.sanity.label}) {hints}"
            ).strip()
