"""Many rows inserted or overwritten at once.

SQLAlchemy converts every value of every row on its way to the driver, which costs as much as the write
itself. Only dates need it; rows without dates go to the driver as they are.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from operator import gt
from typing import Any, cast

from sqlalchemy import Connection, Date, DateTime, Select, Table, bindparam, insert, update
from sqlalchemy.exc import IntegrityError

from kb.edits.target import Values, build_getter

_COPY_MARKS = {"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"}
LEAST_RUN = 20
# What every SQLite takes in one statement.
VALUES_PER_STATEMENT = 999
_COPY_MARK = re.compile(r"[\\\t\n\r]")


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


def insert_columns(
    connection: Connection, table: Table, columns: dict[str, Sequence[Any]], *, by: str | None = None
) -> None:
    """Insert rows given column by column; values are numbers, texts and days.

    Args:
        connection: the writer's connection.
        table: the table.
        columns: new rows, column by column.
        by: the column by which the table is indexed; None for one without an index.
    """
    if connection.dialect.name == "postgresql":
        _copy_columns(connection, table, columns)
        return
    days = [name for name in columns if isinstance(table.c[name].type, Date)]
    written = columns | {name: _write_day_column(columns[name]) for name in days}
    statement: Any = insert(table).compile(dialect=connection.dialect, column_keys=list(columns))
    lists = [written[name] for name in statement.positiontup]
    if by is None or _are_neighbours(columns[by]):
        _insert_many_at_once(connection, str(statement), lists)
    else:
        connection.exec_driver_sql(str(statement), list(zip(*lists, strict=True)))


def _are_neighbours(keys: Sequence[Any]) -> bool:
    """Whether keys hardly ever go back, so that following rows land on the same pages of an index."""
    steps_back: int = sum(map(gt, keys, islice(keys, 1, None)))
    return steps_back <= len(keys) // LEAST_RUN


def _insert_many_at_once(connection: Connection, statement: str, columns: list[Sequence[Any]]) -> None:
    """Rows by statements that each write about a hundred of them: two thirds of the time of one by one.

    SQLite sets every page aside that a statement of several rows changes: rows all over an index cost half
    as much again that way.
    """
    width, count = len(columns), len(columns[0])
    values: list[Any] = [None] * (width * count)
    for place, cells in enumerate(columns):
        values[place::width] = cells
    head, _, marks = statement.partition(" VALUES ")
    rows_at_once = max(VALUES_PER_STATEMENT // width, 1)
    size = width * rows_at_once
    rest = len(values) // size * size
    if rest:
        together = f"{head} VALUES {', '.join([marks] * rows_at_once)}"
        groups = [tuple(values[start : start + size]) for start in range(0, rest, size)]
        connection.exec_driver_sql(together, groups)
    if rest < len(values):
        rows = [tuple(values[start : start + width]) for start in range(rest, len(values), width)]
        connection.exec_driver_sql(statement, rows)


def _write_day_column(days: Sequence[Any]) -> list[str | None]:
    texts = {day: None if day is None else day.isoformat() for day in set(days)}
    return list(map(texts.__getitem__, days))


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


def _copy_columns(connection: Connection, table: Table, columns: dict[str, Sequence[Any]]) -> None:
    """Rows by COPY, written as its text format column by column."""
    quote = connection.dialect.identifier_preparer.quote
    lines = map("\t".join, zip(*map(_write_copied, columns.values()), strict=True))
    with _open_copy(connection, table, ", ".join(map(quote, columns))) as copy:
        copy.write("\n".join(lines) + "\n")


def _write_copied(values: Sequence[Any]) -> Sequence[str]:
    """Texts of values in COPY's text format.

    Source: published: the manual of PostgreSQL, COPY, section "Text Format".

    Example:
        >>> _write_copied([7, None]), _write_copied(["a\\tb"])
        (['7', '\\\\N'], ['a\\\\tb'])
    """
    kinds = set(map(type, values))
    if kinds == {int}:
        return list(map(str, values))
    if kinds == {str} and not _COPY_MARK.search("".join(values)):
        return values
    texts = {value: _write_copied_value(value) for value in set(values)}
    return list(map(texts.__getitem__, values))


def _write_copied_value(value: Any) -> str:
    if value is None:
        return "\\N"
    return _COPY_MARK.sub(lambda found: _COPY_MARKS[found[0]], str(value))


@contextmanager
def _open_copy(connection: Connection, table: Table, names: str) -> Iterator[Any]:
    driver_connection: Any = connection.connection.driver_connection
    quote = connection.dialect.identifier_preparer.quote
    try:
        with (
            driver_connection.cursor() as cursor,
            cursor.copy(f"COPY {quote(table.name)} ({names}) FROM STDIN") as copy,
        ):
            yield copy
    except connection.dialect.loaded_dbapi.IntegrityError as error:
        raise IntegrityError(f"COPY {table.name}", None, error) from error


def _copy_rows(
    connection: Connection, table: Table, columns: Sequence[str], *, rows: Sequence[Values]
) -> None:
    """Rows by PostgreSQL's COPY, several times as fast as INSERT."""
    quote = connection.dialect.identifier_preparer.quote
    names = ", ".join(map(quote, columns))
    get_values = build_getter(columns)
    with _open_copy(connection, table, names) as copy:
        for row in rows:
            copy.write_row(get_values(row))


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
