"""Many rows inserted at once.

SQLAlchemy converts every value of every row on its way to the driver, which costs as much as the insert
itself. Only dates need it; rows without dates go to the driver as they are.
"""

from collections.abc import Sequence

from sqlalchemy import Connection, Date, DateTime, Table, insert

from kb.edits.target import Values, build_getter


def insert_rows(connection: Connection, table: Table, rows: Sequence[Values]) -> None:
    """Insert rows that all have the same columns."""
    if not rows:
        return
    columns = list(rows[0])
    if any(isinstance(table.c[name].type, Date | DateTime) for name in columns):
        connection.execute(insert(table), rows)
        return
    statement = insert(table).compile(dialect=connection.dialect, column_keys=columns)
    if statement.positional:
        get_parameters = build_getter(statement.positiontup or columns)
        connection.exec_driver_sql(str(statement), [get_parameters(row) for row in rows])
    else:
        connection.exec_driver_sql(str(statement), list(rows))
