"""Ids of rows that are known by one name: engines, sources, suppliers, jobs, makers, places."""

from collections.abc import Callable, Iterable
from typing import Any

from sqlalchemy import Connection, Table, select

from kb.notation.maker import build_maker_key
from kb.rules.nearest import format_nearest
from kb.tables.columns import get_table

# Stored spelling and compared spelling differ only for makers: case and punctuation do not matter.
KEY_COLUMNS = {"maker": "maker_key"}


def _keep(name: str) -> str:
    return name


class NameIndex:
    """Names of one table, read once, and the ids behind them."""

    def __init__(self, connection: Connection, table_name: str) -> None:
        self.table: Table = get_table(table_name)
        self._connection = connection
        self._key_column = KEY_COLUMNS.get(table_name, table_name)
        self._build_key: Callable[[str], str] = build_maker_key if table_name == "maker" else _keep
        self._ids: dict[str, int] = {}
        self._spellings: list[str] = []
        self._last_id = 0
        self.refresh()

    def refresh(self) -> None:
        """Read the names that were stored since the last look."""
        columns = self.table.c
        found = self._connection.execute(
            select(columns.id, columns[self._key_column], columns[self.table.name])
            .where(columns.id > self._last_id)
            .order_by(columns.id)
        )
        for row_id, key, spelling in found:
            self._ids[key] = row_id
            self._spellings.append(spelling)
            self._last_id = row_id

    def find_id(self, name: str) -> int | None:
        """Id of the row with this name."""
        return self._ids.get(self._build_key(name))

    def build_missing(self, names: Iterable[str]) -> list[dict[str, Any]]:
        """Rows for names that are not stored, each once, in the order met."""
        missing: dict[str, dict[str, Any]] = {}
        for name in names:
            key = self._build_key(name)
            if key not in self._ids and key not in missing:
                row = {self.table.name: name}
                if self._key_column != self.table.name:
                    row[self._key_column] = key
                missing[key] = row
        return list(missing.values())

    def format_nearest(self, name: str) -> str:
        """Half a sentence with the nearest stored names."""
        return format_nearest(name, self._spellings)
