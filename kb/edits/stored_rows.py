"""Stored rows that a group of new rows may mean, found all at once by the database."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from sqlalchemy import Column, Connection, Date, Integer, MetaData, Table, delete, select

from kb.edits.bulk import insert_columns
from kb.edits.catalogue import SheetEdit

Columns = dict[str, Sequence[Any]]


def has_stored(sheet: SheetEdit, columns: Columns) -> bool:
    """Whether rows like some of the new ones may have been stored before the import.

    Args:
        sheet: the sheet under way.
        columns: new rows with their names resolved: those of a new supplier, say, cannot be stored.
    """
    if sheet.edit.batch.find_last_id_before(sheet.table) == 0:
        return False
    identity = sheet.target.identity
    names = [name.id_column for name in sheet.target.names if name.id_column in identity]
    return all(any(_has_rows(sheet, name, row_id) for row_id in set(columns[name])) for name in names)


def _has_rows(sheet: SheetEdit, column: str, row_id: int | None) -> bool:
    """Whether the table had rows of this supplier, say, before the import; asked once for each."""
    known: dict[tuple[str, int | None], bool] = sheet.memory.setdefault("had_rows", {})
    if (column, row_id) not in known:
        stored = sheet.table.c
        last_id = sheet.edit.batch.find_last_id_before(sheet.table)
        question = select(stored.id).where(stored[column] == row_id, stored.id <= last_id).limit(1)
        known[column, row_id] = sheet.edit.connection.execute(question).first() is not None
    return known[column, row_id]


def find_stored(
    connection: Connection, table: Table, columns: Columns, *, by: Sequence[str], take: Sequence[str]
) -> Iterator[tuple[Any, ...]]:
    """For every stored row like a new one: the new one's place, then the values that are taken.

    Args:
        connection: the writer's connection.
        table: the table with the stored rows.
        columns: new rows, column by column.
        by: columns in which both must be the same; "not known" is the same as "not known".
        take: columns of the stored row that are given.
    """
    wanted = _fill_wanted(connection, table, {name: columns[name] for name in by})
    question = select(wanted.c.place_, *(table.c[name] for name in take)).where(
        *(table.c[name].is_not_distinct_from(wanted.c[name]) for name in by if table.c[name].nullable),
        *(table.c[name] == wanted.c[name] for name in by if not table.c[name].nullable),
    )
    # As the driver gives them: SQLAlchemy's rows cost more than the question.
    found: Any = connection.exec_driver_sql(str(question.compile(dialect=connection.dialect)))
    rows = found.cursor if connection.dialect.name == "sqlite" else found
    days = [place for place, name in enumerate(take, 1) if isinstance(table.c[name].type, Date)]
    return _read_days(rows, days) if days and connection.dialect.name == "sqlite" else iter(rows)


def _fill_wanted(connection: Connection, table: Table, columns: Columns) -> Table:
    """A table of this connection alone that holds the new rows with their places."""
    names = ("place_", *columns)
    types = (Integer(), *(table.c[name].type for name in columns))
    wanted = Table(
        f"wanted_{table.name}_{len(names)}",
        MetaData(),
        *(Column(name, kind) for name, kind in zip(names, types, strict=True)),
        prefixes=["TEMPORARY"],
        postgresql_on_commit="DROP",
    )
    wanted.create(connection, checkfirst=True)
    connection.execute(delete(wanted))
    count = len(next(iter(columns.values())))
    insert_columns(connection, wanted, {"place_": range(count)} | columns)
    return wanted


def _read_days(rows: Any, places: Sequence[int]) -> Iterator[tuple[Any, ...]]:
    """Rows of SQLite, which keeps days as texts."""
    known: dict[str | None, date | None] = {None: None}
    for row in rows:
        cells = list(row)
        for place in places:
            text = cells[place]
            if text not in known:
                known[text] = date.fromisoformat(text)
            cells[place] = known[text]
        yield tuple(cells)
