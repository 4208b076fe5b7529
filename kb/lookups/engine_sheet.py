"""Everything recorded of one engine, each value with the source that states it."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.needs import list_needs
from kb.lookups.sources import read_sourced_rows
from kb.rules.card.fasteners import find_thread
from kb.rules.fit.values import Need
from kb.rules.source import SourceRef
from kb.rules.tools.cautions import (
    Caution,
    cautions_for_position,
    cautions_for_torque,
    rank_cautions,
)
from kb.rules.tools.hand import settle_hand
from kb.tables.columns import get_table
from kb.terms import FASTENER_POSITIONS, SIZE_POSITIONS, Hand, Position
from kb.units import convert_nm_to_lbf_ft

_NEED_POSITIONS = (
    Position.DRIVE_BELT,
    Position.ROLLERS,
    Position.CLUTCH_SPRINGS,
    Position.CONTRA_SPRING,
    *SIZE_POSITIONS,
)
_NOT_SHOWN = ("id", "engine_id", "source_id", "batch_id")
_TORQUES = ("torque_min_nm", "torque_nm", "torque_max_nm")


@dataclass(frozen=True, slots=True)
class Statement:
    """What one source says, column by column."""

    values: Mapping[str, Any]
    source: SourceRef


@dataclass(frozen=True, slots=True)
class FastenerStatement:
    """A fastener as one source states it, its torques in lbf·ft as well, and the cautions beside them."""

    values: Mapping[str, Any]
    source: SourceRef
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class EngineSheet:
    """Everything recorded of one engine; lists are in the order of positions, the best source first."""

    engine: EngineRef
    source: SourceRef
    vehicles: tuple[Statement, ...]
    features: tuple[Statement, ...]
    needs: Mapping[Position, tuple[Need, ...]]
    wear_limits: tuple[Statement, ...]
    fasteners: tuple[FastenerStatement, ...]
    drives: tuple[Statement, ...]


def describe_engine(session: Session, code: str) -> EngineSheet:
    """Everything recorded of the engine with this code.

    Raises:
        NotFound: no engine has it; the message names the nearest codes.
    """
    engine = get_engine(session, code)
    table = get_table("engine")
    statement = select(table.c.source_id).where(table.c.id == engine.id)
    needs = {position: list_needs(session, engine.id, position) for position in _NEED_POSITIONS}
    return EngineSheet(
        engine=engine,
        source=read_sourced_rows(session, statement)[0][1],
        vehicles=_list_statements(session, "vehicle", engine.id, order=("make", "model", "year_from")),
        features=_list_statements(session, "feature", engine.id, order=("quantity",)),
        needs={position: found for position, found in needs.items() if found},
        wear_limits=_list_statements(session, "wear_limit", engine.id, order=("position", "quantity")),
        fasteners=_list_fasteners(session, engine.id),
        drives=_list_statements(session, "drive", engine.id, order=()),
    )


def _list_statements(
    session: Session, table_name: str, engine_id: int, *, order: tuple[str, ...]
) -> tuple[Statement, ...]:
    table = get_table(table_name)
    rows = read_sourced_rows(session, select(table).where(table.c.engine_id == engine_id))
    found = [
        Statement(
            {name: value for name, value in row._mapping.items() if name not in _NOT_SHOWN},
            source,
        )
        for row, source in rows
    ]
    return tuple(sorted(found, key=lambda item: [_rank_value(name, item.values[name]) for name in order]))


def _rank_value(name: str, value: Any) -> tuple[int, str]:
    if name == "position":
        return list(Position).index(Position(value)), ""
    return 0, str(value if value is not None else "")


def _list_fasteners(session: Session, engine_id: int) -> tuple[FastenerStatement, ...]:
    found = _list_statements(session, "fastener", engine_id, order=("position",))
    by_position: dict[str, list[FastenerStatement]] = defaultdict(list)
    for item in found:
        by_position[item.values["position"]].append(_complete_fastener(item))
    return tuple(
        fastener for position in FASTENER_POSITIONS for fastener in by_position.pop(str(position), ())
    ) + tuple(fastener for others in by_position.values() for fastener in others)


def _complete_fastener(item: Statement) -> FastenerStatement:
    values = dict(item.values)
    thread = find_thread(values["thread"])
    hand = settle_hand(Hand(values["hand"]) if values["hand"] else None, thread.hand if thread else None)
    values["hand"] = str(hand)
    for name in _TORQUES:
        torque_nm = values[name]
        converted = round(convert_nm_to_lbf_ft(torque_nm), 2) if torque_nm is not None else None
        values[name.replace("_nm", "_lbf_ft")] = converted
    cautions = (
        *cautions_for_torque(
            item.source.kind,
            is_known=any(values[name] is not None for name in _TORQUES),
            hand=hand,
            single_use=bool(values["single_use"]),
            locking=bool(values["locking"]) and "compound" in values["locking"],
        ),
        *cautions_for_position(Position(values["position"])),
    )
    return FastenerStatement(values, item.source, rank_cautions(cautions))
