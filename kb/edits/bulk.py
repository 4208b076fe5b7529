"""Many rows inserted or overwritten at once.

SQLAlchemy converts every value of every row on its way to the driver, which costs as much as the write
itself. Only dates need it; rows without dates go to the driver as they are.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, cast

from sqlalchemy import Connection, Date, DateTime, Select, Table, bindparam, insert, update
from sqlalchemy.exc import IntegrityError

from kb.edits.target import Values, build_getter


def build_in_question(
    connection: Connection, question: Select[Any], column: Any
) -> Callable[[Sequence[Any]], Iterable[Any]]:
    """Function that asks for the rows whose column has one of many values, as the driver gives them.

    SQLAlchemy names and checks each of ten thousand parameters, which costs more than the question itself.
    """
    text = str(question.where(column == bindparam("wanted")).compile(dialect=connection.dialect))
    head, _, _tail = text.rpartition("= ")

    def ask(values: Sequence[Any]) -> Iterable[Any]:
        if connection.dialect.name == "postgresql":
            return connection.exec_driver_sql(f"{head}= ANY(%(wanted)s)", {"wanted": list(values)})
        marks = ",".join("?" * len(values))
        cursor: Any = connection.exec_driver_sql(f"{head}IN ({marks})", tuple(values)).cursor
        return cast(Iterable[Any], cursor)

    return ask


def insert_rows(connection: Connection, table: Table, rows: Sequence[Values]) -> None:
    """Insert rows that all have the same columns."""
    if not rows:
        return
    columns = list(rows[0])
    if connection.dialect.name == "postgresql":
        _copy_rows(connection, table, columns, rows=rows)
        return
    if any(isinstance(table.c[name].type, DateTime) for name in columns):
        connection.execute(insert(table), rows)
        return
    days = [name for name in columns if isinstance(table.c[name].type, Date)]
    statement = insert(table).compile(dialect=connection.dialect, column_keys=columns)
    _execute_many(connection, statement, _write_days(rows, days) if days else rows)


def _write_days(rows: Sequence[Values], days: Sequence[str]) -> list[Values]:
    """Rows whose days are texts, as SQLite keeps them; the given rows stay as they are."""
    texts: dict[Any, str | None] = {None: None}
    written = []
    for row in rows:
        new = row.copy()
        for name in days:
            day = row[name]
            text = texts.get(day)
            new[name] = text if text is not None or day is None else texts.setdefault(day, day.isoformat())
        written.append(new)
    return written


def _copy_rows(
    connection: Connection, table: Table, columns: Sequence[str], *, rows: Sequence[Values]
) -> None:
    """Rows by PostgreSQL's COPY, several times as fast as INSERT."""
    quote = connection.dialect.identifier_preparer.quote
    names = ", ".join(map(quote, columns))
    get_values = build_getter(columns)
    driver_connection: Any = connection.connection.driver_connection
    try:
        with (
            driver_connection.cursor() as cursor,
            cursor.copy(f"COPY {quote(table.name)} ({names}) FROM STDIN") as copy,
        ):
            for row in rows:
                copy.write_row(get_values(row))
    except connection.dialect.loaded_dbapi.IntegrityError as error:
        raise IntegrityError(f"COPY {table.name}", None, error) from error


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
