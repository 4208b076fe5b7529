"""Rows that a batch added, removed again, unless later rows refer to them."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Table, and_, delete, func, or_, select
from sqlalchemy.sql.elements import ColumnElement
from sqlmodel import SQLModel

import kb.tables.schema  # noqa: F401 - walks through every table
from kb.edits.undone_batch import UndoneBatch
from kb.tables.columns import get_table

# Rows made because a sheet named them; they stay while anything else names them.
MADE_ON_DEMAND = frozenset({"family", "maker", "location"})
# The ledger is never rewritten, so a part that it names stays.
LEDGER = frozenset({"stock_level", "stock_movement", "stock_out"})
RUNS_PER_STATEMENT = 200

Run = tuple[int, int]
Condition = ColumnElement[bool]


@dataclass(frozen=True, slots=True)
class Removal:
    """How many rows of a table went and how many stay because others name them."""

    removed: int = 0
    kept: int = 0


def remove_added(batch: UndoneBatch, runs: dict[str, list[Run]]) -> dict[str, Removal]:
    """Remove the rows that the batch added, given as runs of ids by table.

    Raises:
        Conflict: another batch changed one of the rows, or made rows that refer to one.
    """
    removals = {}
    # Rows that refer go before the rows referred to.
    for table in reversed(SQLModel.metadata.sorted_tables):
        removed, kept = 0, 0
        table_runs = runs.get(table.name, [])
        for start in range(0, len(table_runs), RUNS_PER_STATEMENT):
            in_run = _build_run_clause(table, table_runs[start : start + RUNS_PER_STATEMENT])
            _check_unchanged(batch, table, in_run)
            added = and_(in_run, table.c.batch_id == batch.id)
            for group, may_stay in _split_by_origin(table, added):
                removed += _remove_group(batch, table, group, may_stay=may_stay)
            kept += batch.connection.execute(
                select(func.count()).select_from(table).where(added)
            ).scalar_one()
        if table_runs:
            removals[table.name] = Removal(removed, kept)
    return removals


def _split_by_origin(table: Table, added: Condition) -> list[tuple[Condition, bool]]:
    """Rows that a sheet states, and rows made only because a sheet named them (those may stay)."""
    if table.name == "source":
        return [(and_(added, table.c.source != ""), False), (and_(added, table.c.source == ""), True)]
    return [(added, table.name in MADE_ON_DEMAND)]


def _remove_group(batch: UndoneBatch, table: Table, group: Condition, *, may_stay: bool) -> int:
    unused = [group]
    for column in _list_referring_columns(table):
        if may_stay or (table.name == "part" and column.table.name in LEDGER):
            refers = select(column).where(column == table.c.id).correlate(table).exists()
            unused.append(~refers)
        else:
            _check_unreferred(batch, table, column, group)
    gone: int = batch.connection.execute(delete(table).where(*unused)).rowcount
    return gone


def _list_referring_columns(table: Table) -> list[Any]:
    return [
        key.parent
        for other in SQLModel.metadata.sorted_tables
        for key in other.foreign_keys
        if key.column.table is table
    ]


def _check_unreferred(batch: UndoneBatch, table: Table, column: Any, group: Condition) -> None:
    other: Table = column.table
    wanted = other.c.batch_id if "batch_id" in other.c else column
    found = list(
        batch.connection.execute(
            select(wanted).distinct().where(column.in_(select(table.c.id).where(group)))
        ).scalars()
    )
    if found:
        batch_ids = found if "batch_id" in other.c else [None]
        raise batch.build_conflict(f"made rows of {other.name} that refer to its {table.name}", batch_ids)


def _check_unchanged(batch: UndoneBatch, table: Table, in_run: Condition) -> None:
    """Refuse when another batch, or a person, changed a row that this batch added."""
    changes = get_table("import_change").c
    was_changed = (
        select(changes.id)
        .where(
            changes.table_name == table.name,
            changes.action == "changed",
            changes.row_id == table.c.id,
            changes.batch_id == table.c.batch_id,
        )
        .correlate(table)
        .exists()
    )
    of_others = or_(table.c.batch_id.is_(None), and_(table.c.batch_id != batch.id, was_changed))
    found = list(
        batch.connection.execute(select(table.c.batch_id).distinct().where(in_run, of_others)).scalars()
    )
    if found:
        raise batch.build_conflict(f"changed rows of {table.name} that it added", found)


def _build_run_clause(table: Table, runs: list[Run]) -> Condition:
    return or_(*(table.c.id.between(first, last) for first, last in runs))
