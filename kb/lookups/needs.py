"""What an engine needs at a position, as every source states it, and its drive."""

from dataclasses import fields
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import BadInput
from kb.lookups.sources import read_sourced_rows
from kb.mechanics.drive_range import Drive, Pulley
from kb.rules.fit.judge import SPRING_POSITIONS
from kb.rules.fit.values import BeltNeed, DriveData, FastenerNeed, Need, RollerNeed, SizeNeed, SpringNeed
from kb.rules.source import SourceRef
from kb.tables.columns import get_table
from kb.terms import FASTENER_POSITIONS, SIZE_POSITIONS, Position

_PULLEY_COLUMNS = (
    "angle_deg",
    "outer_radius_mm",
    "boss_radius_mm",
    "gap_radius_mm",
    "gap_open_mm",
    "gap_closed_mm",
)


def list_needs(session: Session, engine_id: int, position: Position) -> tuple[Need, ...]:
    """Needs of an engine at a position, the best source first; empty where none is recorded."""
    found = _find_need_table(position)
    if found is None:
        return ()
    table_name, need_class = found
    table = get_table(table_name)
    statement = select(table).where(table.c.engine_id == engine_id)
    if "position" in table.c:
        statement = statement.where(table.c.position == str(position))
    names = [item.name for item in fields(need_class) if item.name != "source"]
    return tuple(
        need_class(source=source, **{name: row._mapping[name] for name in names})
        for row, source in read_sourced_rows(session, statement)
    )


def _find_need_table(position: Position) -> tuple[str, Any] | None:
    if position is Position.DRIVE_BELT:
        return "belt_need", BeltNeed
    if position is Position.ROLLERS:
        return "roller_need", RollerNeed
    if position in SPRING_POSITIONS:
        return "spring_need", SpringNeed
    if position in SIZE_POSITIONS:
        return "size_need", SizeNeed
    return ("fastener", FastenerNeed) if position in FASTENER_POSITIONS else None


def find_drive(session: Session, engine_id: int) -> DriveData | None:
    """The complete drive of an engine by its best source; None where no source states all of it."""
    drive = get_table("drive")
    for row, source in read_sourced_rows(session, select(drive).where(drive.c.engine_id == engine_id)):
        found = _build_drive(row._mapping, source)
        if found is not None:
            return found
    return None


def _build_drive(row: Any, source: SourceRef) -> DriveData | None:
    pulleys = [{name: row[f"{side}_{name}"] for name in _PULLEY_COLUMNS} for side in ("drive", "driven")]
    if row["centre_distance_mm"] is None or any(value is None for side in pulleys for value in side.values()):
        return None
    try:
        built = Drive(row["centre_distance_mm"], Pulley(**pulleys[0]), Pulley(**pulleys[1]))
    except BadInput:  # numbers that contradict each other say as little as missing ones
        return None
    return DriveData(source, built, row["cord_depth_mm"], row["idle_rpm"], row["clutch_rpm"])
