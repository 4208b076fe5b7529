"""INSERT that knows what to do when the row is there already, in the words of the database at hand."""

from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite


def build_insert(connection: Connection, table: Table) -> Any:
    """An INSERT with ``on_conflict_do_nothing`` and ``on_conflict_do_update``."""
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    return dialect.insert(table)
