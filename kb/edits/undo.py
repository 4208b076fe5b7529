"""One import batch taken back: what it added is removed, what it changed is as before.

Later writes are never lost: where another batch changed or refers to a row, the undo is refused and names
what stands in the way. The stock ledger is not rewritten; the batch's movements are countered by contrary
ones, and the parts and places that the ledger names stay.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Date, Table, func, select, update
from sqlmodel import Session

from kb.edits.batches import lock_imports
from kb.edits.bulk import overwrite_rows
from kb.edits.demand import list_demanded_parts
from kb.edits.demand_months import refresh_demand_months, refresh_type_months
from kb.edits.look_up_follow import IndexFollower
from kb.edits.removal import Removal, Run, remove_added
from kb.edits.stock import Booking, Place, book_differences, read_levels
from kb.edits.undone_batch import UndoneBatch, get_loaded_batch
from kb.errors import Conflict
from kb.tables.columns import get_table

ROWS_PER_GROUP = 10_000


@dataclass(frozen=True, slots=True)
class UndoReport:
    """What an undo did: rows by table, and rows that stay because something else names them."""

    batch: str
    removed: dict[str, int]
    restored: dict[str, int]
    kept: dict[str, int]
    countered_movements: int

    def as_json(self) -> dict[str, Any]:
        """The report as scripts see it."""
        return {
            "batch": self.batch,
            "removed": self.removed,
            "restored": self.restored,
            "kept": self.kept,
            "countered_movements": self.countered_movements,
        }


def undo_batch(session: Session, batch: str, now: datetime) -> UndoReport:
    """Take one import back.

    Args:
        session: a writer's session; the caller commits.
        batch: name of the batch as the import reported it.
        now: time of the undo, with its time zone.

    Raises:
        NotFound: no batch has this name.
        Conflict: the batch was taken back already, or later writes depend on it; nothing was changed.
    """
    # All that follows happens inside a savepoint: it is kept as a whole or not at all.
    with session.begin_nested():
        lock_imports(session.connection())
        loaded = get_loaded_batch(session.connection(), batch, now.astimezone(UTC))
        countered = _counter_movements(loaded)
        added = _read_runs(loaded, "added")
        look_up = IndexFollower(loaded.connection)
        touched = _join_runs(added, _read_runs(loaded, "changed"))
        look_up.forget_runs(touched)
        demanded = list_demanded_parts(loaded.connection, touched.get("demand", ()))
        restored = _restore_changed(loaded)
        removals = remove_added(loaded, added)
        look_up.finish()
        refresh_demand_months(loaded.connection, demanded)
        if "part" in restored:  # its part type
            refresh_type_months(loaded.connection)
        batches = get_table("import_batch")
        loaded.connection.execute(
            update(batches)
            .where(batches.c.id == loaded.id)
            .values(state="undone", undone_at_utc=loaded.undone_at_utc)
        )
        return _build_report(loaded, restored, removals, countered=countered)


def _build_report(
    batch: UndoneBatch, restored: dict[str, int], removals: dict[str, Removal], *, countered: int
) -> UndoReport:
    return UndoReport(
        batch.name,
        {table: removal.removed for table, removal in removals.items() if removal.removed},
        restored,
        {table: removal.kept for table, removal in removals.items() if removal.kept},
        countered,
    )


def _read_runs(batch: UndoneBatch, action: str) -> dict[str, list[Run]]:
    changes = get_table("import_change").c
    runs: dict[str, list[Run]] = {}
    for table_name, first, last in batch.connection.execute(
        select(changes.table_name, changes.row_id, changes.last_row_id)
        .where(changes.batch_id == batch.id, changes.action == action)
        .order_by(changes.id)
    ):
        runs.setdefault(table_name, []).append((first, last))
    return runs


def _join_runs(first: dict[str, list[Run]], second: dict[str, list[Run]]) -> dict[str, list[Run]]:
    return {name: [*first.get(name, ()), *second.get(name, ())] for name in first.keys() | second.keys()}


def _counter_movements(batch: UndoneBatch) -> int:
    movements = get_table("stock_movement").c
    question = (
        select(movements.location_id, movements.part_id, func.sum(movements.quantity))
        .where(movements.batch_id == batch.id)
        .group_by(movements.location_id, movements.part_id)
    )
    moved: dict[Place, int] = {
        (location_id, part_id): int(quantity)
        for location_id, part_id, quantity in batch.connection.execute(question)
        if quantity != 0
    }
    levels = read_levels(batch.connection, moved)
    for place, quantity in moved.items():
        if levels.get(place, 0) < quantity:
            raise Conflict(_explain_shortage(batch, place, quantity=quantity, on_hand=levels.get(place, 0)))
    booking = Booking(batch.undone_at_utc, batch.id, f"import {batch.name} taken back")
    book_differences(batch.connection, {place: -quantity for place, quantity in moved.items()}, booking)
    return len(moved)


def _explain_shortage(batch: UndoneBatch, place: Place, *, quantity: int, on_hand: int) -> str:
    parts, locations = get_table("part").c, get_table("location").c
    number = batch.connection.execute(select(parts.part_number).where(parts.id == place[1])).scalar()
    location = batch.connection.execute(select(locations.location).where(locations.id == place[0])).scalar()
    return (
        f"Import '{batch.name}' cannot be taken back: it put {quantity} pieces of part '{number}' at "
        f"'{location}', of which {on_hand} are left; count or receive the missing ones first."
    )


def _restore_changed(batch: UndoneBatch) -> dict[str, int]:
    """Put back what the batch overwrote, many rows at a time; rows by table."""
    restored: dict[str, int] = {}
    last_id = 0
    while group := _read_changed(batch, last_id):
        last_id = group[-1].id
        by_table: dict[str, list[Any]] = {}
        for change in group:
            by_table.setdefault(change.table_name, []).append(change)
        for table_name, changes in by_table.items():
            table = get_table(table_name)
            _check_unchanged_since(batch, table, [change.row_id for change in changes])
            before = [(change.row_id, _read_before(table, change.before_json)) for change in changes]
            overwrite_rows(batch.connection, table, before)
            restored[table_name] = restored.get(table_name, 0) + len(changes)
    return restored


def _read_changed(batch: UndoneBatch, last_id: int) -> Sequence[Any]:
    changes = get_table("import_change").c
    return batch.connection.execute(
        select(changes.id, changes.table_name, changes.row_id, changes.before_json)
        .where(changes.batch_id == batch.id, changes.action == "changed", changes.id > last_id)
        .order_by(changes.id)
        .limit(ROWS_PER_GROUP)
    ).all()


def _check_unchanged_since(batch: UndoneBatch, table: Table, row_ids: list[int]) -> None:
    owners = batch.connection.execute(
        select(table.c.batch_id).distinct().where(table.c.id.in_(row_ids))
    ).scalars()
    later = [owner for owner in owners if owner != batch.id]
    if later:
        raise batch.build_conflict(f"changed rows of {table.name} after it", later)


def _read_before(table: Table, before_json: str) -> dict[str, Any]:
    values: dict[str, Any] = json.loads(before_json)
    for column in table.columns:
        if isinstance(column.type, Date) and values.get(column.name) is not None:
            values[column.name] = date.fromisoformat(values[column.name])
    return values
