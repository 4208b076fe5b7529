"""Many rows inserted or overwritten at once.

SQLAlchemy converts every value of every row on its way to the driver, which costs as much as the write
itself. Only dates need it; rows without dates go to the driver as they are.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Connection, Date, DateTime, Table, bindparam, insert, update

from kb.edits.target import Values, build_getter


def insert_rows(connection: Connection, table: Table, rows: Sequence[Values]) -> None:
    """Insert rows that all have the same columns."""
    if not rows:
        return
    columns = list(rows[0])
    if _has_dates(table, columns):
        connection.execute(insert(table), rows)
        return
    statement = insert(table).compile(dialect=connection.dialect, column_keys=columns)
    _execute_many(connection, statement, rows)


def overwrite_rows(connection: Connection, table: Table, rows: Sequence[tuple[int, Values]]) -> None:
    """Overwrite rows given as id and values; all must have the same columns."""
    if not rows:
        return
    columns = list(rows[0][1])
    # Names with a mark cannot clash with the table's columns.
    statement = (
        update(table)
        .where(table.c.id == bindparam("_id"))
        .values({name: bindparam(f"_{name}") for name in columns})
    )
    parameters = [{"_id": row_id} | {f"_{name}": new[name] for name in columns} for row_id, new in rows]
    if _has_dates(table, columns):
        connection.execute(statement, parameters)
    else:
        _execute_many(connection, statement.compile(dialect=connection.dialect), parameters)


def _has_dates(table: Table, columns: Iterable[str]) -> bool:
    return any(isinstance(table.c[name].type, Date | DateTime) for name in columns)


def _execute_many(connection: Connection, statement: Any, rows: Sequence[Values]) -> None:
    if statement.positional:
        get_parameters = build_getter(statement.positiontup)
        connection.exec_driver_sql(str(statement), [get_parameters(row) for row in rows])
    else:
        connection.exec_driver_sql(str(statement), list(rows))
