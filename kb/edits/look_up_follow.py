"""The look-up's index follows an import or an undo: which entries are touched, before and after the write."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, func, select

from kb.edits.look_up_index import LookUpIndex, rebuild_index
from kb.edits.look_up_names import rekey_entries
from kb.entries import build_analyser
from kb.rules.match.analyser import Analyser
from kb.tables.columns import get_table

Run = tuple[int, int]
# Table → the column with the id of the part or engine whose text a row of it belongs to.
_PART_COLUMNS = {"part": "id", "part_record": "part_id"}
_ENGINE_COLUMNS = {"engine": "id", "vehicle": "engine_id"}
_NAMES = "trade_name"


class IndexFollower:
    """Entries touched by one import or undo.

    Args:
        connection: the writer's connection.
    """

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.index = LookUpIndex(connection)
        self._last_ids: dict[str, int] = {}
        self._forgotten: dict[str, set[int]] = {"part": set(), "engine": set()}
        self._names_before: Analyser | None = None
        self._is_rebuilt = False

    def _find_last_id(self, name: str) -> int:
        """Highest id of the table when this was first asked."""
        if name not in self._last_ids:
            highest = self.connection.execute(select(func.max(get_table(name).c.id))).scalar()
            self._last_ids[name] = highest or 0
        return self._last_ids[name]

    def watch(self, table: str) -> None:
        """Remember how things are, before the first row of a table is written."""
        if table in _PART_COLUMNS:
            self._find_last_id("part")
        elif table in _ENGINE_COLUMNS:
            self._find_last_id("engine")
        elif table == _NAMES and self._names_before is None:
            self._names_before = build_analyser(self.connection)

    def forget(self, table: str, rows: Iterable[Mapping[str, Any]]) -> None:
        """Take out entries whose rows are about to be changed, or joined by further ones."""
        if table in _PART_COLUMNS:
            self._forget("part", (row.get(_PART_COLUMNS[table]) for row in rows))
        elif table in _ENGINE_COLUMNS:
            self._forget("engine", (row.get(_ENGINE_COLUMNS[table]) for row in rows))

    def _forget(self, name: str, ids: Iterable[int | None]) -> None:
        last = self._find_last_id(name)
        done = self._forgotten[name]
        new = {row_id for row_id in ids if row_id is not None and row_id <= last} - done
        if new and not self._is_rebuilt:
            (self.index.forget_parts if name == "part" else self.index.forget_engines)(new)
        done |= new

    def forget_runs(self, runs: Mapping[str, Iterable[Run]]) -> None:
        """Take out entries behind rows that are about to go or to be restored, given as runs of ids.

        When that is most of the index, the whole of it is written anew at the end.
        """
        touched = {name: self._find_touched(name, runs) for name in ("part", "engine")}
        count = self.connection.execute(
            select(func.count()).select_from(get_table("look_up_entry"))
        ).scalar_one()
        self._is_rebuilt = 2 * sum(map(len, touched.values())) > count
        if _NAMES in runs:
            self.watch(_NAMES)
        for name, ids in touched.items():
            self._forget(name, ids)

    def _find_touched(self, name: str, runs: Mapping[str, Iterable[Run]]) -> set[int]:
        columns = _PART_COLUMNS if name == "part" else _ENGINE_COLUMNS
        found: set[int] = set()
        for table_name, column in columns.items():
            table = get_table(table_name)
            for first, last in runs.get(table_name, ()):
                found.update(
                    self.connection.execute(
                        select(table.c[column]).where(table.c.id.between(first, last))
                    ).scalars()
                )
        return found

    def finish(self, batch_id: int | None = None) -> None:
        """Write the entries anew that are still there, and those of rows that the batch added."""
        if self._is_rebuilt:
            rebuild_index(self.connection)
            return
        if self._names_before is not None:
            after = build_analyser(self.connection)
            if after is not self._names_before:
                rekey_entries(self.connection, self._names_before, after)
        index = LookUpIndex(self.connection)
        index.take_over(self.index)
        for name, add in (("engine", index.add_engines), ("part", index.add_parts)):
            add(self._forgotten[name])
            if name in self._last_ids and batch_id is not None:
                added = get_table(name).c
                condition = (added.id > self._last_ids[name]) & (added.batch_id == batch_id)
                add(_list_ids(self.connection, name, condition))
        index.finish()


def _list_ids(connection: Connection, name: str, condition: Any) -> list[int]:
    """Ids of a table that meet a condition, in order."""
    column = get_table(name).c.id
    return list(connection.execute(select(column).where(condition).order_by(column)).scalars())
