"""One import batch taken back: what it added is removed, what it changed is as before.

Later writes are never lost: where another batch changed or refers to a row, the undo is refused and names
what stands in the way. The stock ledger is not rewritten; the batch's movements are countered by contrary
ones, and the parts and places that the ledger names stay.
"""

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Date, RowMapping, Table, func, select, update
from sqlmodel import Session, SQLModel

from kb.edits.batches import lock_imports
from kb.edits.removal import Removal, Run, remove_added
from kb.edits.stock import Booking, Place, book_differences, read_levels
from kb.edits.undone_batch import UndoneBatch, get_loaded_batch
from kb.errors import Conflict


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
        changes = _read_changes(loaded)
        restored = _restore_changed(loaded, changes)
        removals = remove_added(loaded, _collect_runs(changes))
        batches = _get_table("import_batch")
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


def _read_changes(batch: UndoneBatch) -> list[RowMapping]:
    changes = _get_table("import_change")
    return list(
        batch.connection.execute(
            select(changes).where(changes.c.batch_id == batch.id).order_by(changes.c.id)
        ).mappings()
    )


def _collect_runs(changes: list[RowMapping]) -> dict[str, list[Run]]:
    runs: dict[str, list[Run]] = {}
    for change in changes:
        if change["action"] == "added":
            runs.setdefault(change["table_name"], []).append((change["row_id"], change["last_row_id"]))
    return runs


def _counter_movements(batch: UndoneBatch) -> int:
    movements = _get_table("stock_movement").c
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
    parts, locations = _get_table("part").c, _get_table("location").c
    number = batch.connection.execute(select(parts.part_number).where(parts.id == place[1])).scalar()
    location = batch.connection.execute(select(locations.location).where(locations.id == place[0])).scalar()
    return (
        f"Import '{batch.name}' cannot be taken back: it put {quantity} pieces of part '{number}' at "
        f"'{location}', of which {on_hand} are left; count or receive the missing ones first."
    )


def _restore_changed(batch: UndoneBatch, changes: list[RowMapping]) -> dict[str, int]:
    restored: dict[str, int] = {}
    for change in reversed(changes):
        if change["action"] != "changed":
            continue
        table = _get_table(change["table_name"])
        current = batch.connection.execute(
            select(table.c.batch_id).where(table.c.id == change["row_id"])
        ).scalar()
        if current != batch.id:
            raise batch.build_conflict(f"changed rows of {table.name} after it", [current])
        batch.connection.execute(
            update(table).where(table.c.id == change["row_id"]).values(_read_before(table, change))
        )
        restored[table.name] = restored.get(table.name, 0) + 1
    return restored


def _read_before(table: Table, change: RowMapping) -> dict[str, Any]:
    values: dict[str, Any] = json.loads(change["before_json"])
    return {
        name: date.fromisoformat(value)
        if value is not None and isinstance(table.c[name].type, Date)
        else value
        for name, value in values.items()
    }


def _get_table(name: str) -> Table:
    return SQLModel.metadata.tables[name]
