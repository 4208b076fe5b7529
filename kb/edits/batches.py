"""An import batch and its journal: what was added, what was changed and how it was before.

The batch's row is made with the first write, so that an import that changes nothing leaves no batch.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select, text, update

from kb.edits.bulk import insert_columns, insert_rows, overwrite_rows
from kb.edits.target import Values
from kb.tables.columns import get_table

IMPORT_BATCH = "import_batch"
IMPORT_CHANGE = "import_change"
RUNS_PER_INSERT = 10_000


@dataclass(frozen=True, slots=True)
class BatchOrigin:
    """What is imported and when: the kind of import, the file or folder, its digest."""

    kind: str
    file_name: str
    digest_sha256: str
    made_at_utc: datetime
    mapping_json: str | None = None


def lock_imports(connection: Connection) -> None:
    """Let one import or undo run at a time until the transaction ends; SQLite has one writer anyway."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE import_batch IN SHARE ROW EXCLUSIVE MODE"))


class OpenBatch:
    """A batch being written."""

    def __init__(self, connection: Connection, origin: BatchOrigin) -> None:
        self.connection = connection
        self.origin = origin
        self.name: str | None = None
        self._id: int | None = None
        self._last_id_before: dict[str, int] = {}

    @property
    def id(self) -> int:
        """Id of the batch; the batch is made when it is first asked for."""
        if self._id is None:
            self.name = self._find_free_name()
            row = {
                "batch": self.name,
                "kind": self.origin.kind,
                "file_name": self.origin.file_name,
                "digest_sha256": self.origin.digest_sha256,
                "mapping_json": self.origin.mapping_json,
                "report_json": "{}",
                "state": "loaded",
                "made_at_utc": self.origin.made_at_utc,
            }
            batches = get_table(IMPORT_BATCH)
            new_id = self.connection.execute(insert(batches).values(**row).returning(batches.c.id))
            self._id = int(new_id.scalar_one())
        return self._id

    @property
    def is_empty(self) -> bool:
        """Whether nothing was written."""
        return self._id is None

    def _find_free_name(self) -> str:
        batches = get_table(IMPORT_BATCH)
        wished = f"{self.origin.made_at_utc:%Y%m%d-%H%M%S}-{self.origin.digest_sha256[:6]}"
        taken = set(
            self.connection.execute(
                select(batches.c.batch).where(batches.c.batch.startswith(wished, autoescape=True))
            ).scalars()
        )
        name, number = wished, 1
        while name in taken:
            number += 1
            name = f"{wished}-{number}"
        return name

    def add_rows(self, table: Table, rows: Sequence[Values]) -> None:
        """Insert rows; all must have the same columns."""
        if not rows:
            return
        batch_id = self.id
        self.find_last_id_before(table)
        for row in rows:
            row["batch_id"] = batch_id
        insert_rows(self.connection, table, rows)

    def add_columns(self, table: Table, columns: dict[str, Sequence[Any]], *, by: str) -> None:
        """Insert rows given column by column; by the given column the table is indexed."""
        count = len(columns[by])
        if count == 0:
            return
        batch_id = self.id
        self.find_last_id_before(table)
        insert_columns(self.connection, table, columns | {"batch_id": [batch_id] * count}, by=by)

    def find_last_id_before(self, table: Table) -> int:
        """Highest id that the table had before this batch wrote to it."""
        if table.name not in self._last_id_before:
            self._last_id_before[table.name] = (
                self.connection.execute(select(func.max(table.c.id))).scalar() or 0
            )
        return self._last_id_before[table.name]

    def change_rows(self, table: Table, rows: Sequence[tuple[int, Values, Values]]) -> None:
        """Overwrite rows, each given as id, values before (with batch) and new values."""
        if not rows:
            return
        batch_id = self.id
        journal = [
            {
                "batch_id": batch_id,
                "table_name": table.name,
                "row_id": row_id,
                "last_row_id": row_id,
                "action": "changed",
                "before_json": json.dumps(before, default=_write_day, ensure_ascii=False),
            }
            for row_id, before, _new in rows
        ]
        insert_rows(self.connection, get_table(IMPORT_CHANGE), journal)
        new_rows = [(row_id, new | {"batch_id": batch_id}) for row_id, _before, new in rows]
        overwrite_rows(self.connection, table, new_rows)

    def close(self, report_json: str) -> None:
        """Write the journal of added rows and the report; does nothing for a batch that wrote nothing."""
        if self._id is None:
            return
        journal = [run for table_name in self._last_id_before for run in self._build_runs(table_name)]
        for start in range(0, len(journal), RUNS_PER_INSERT):
            self.connection.execute(
                insert(get_table(IMPORT_CHANGE)), journal[start : start + RUNS_PER_INSERT]
            )
        batches = get_table(IMPORT_BATCH)
        self.connection.execute(
            update(batches).where(batches.c.id == self._id).values(report_json=report_json)
        )

    def _build_runs(self, table_name: str) -> list[Values]:
        table = get_table(table_name)
        added = (table.c.id > self._last_id_before[table_name]) & (table.c.batch_id == self._id)
        first, last, count = self.connection.execute(
            select(func.min(table.c.id), func.max(table.c.id), func.count()).where(added)
        ).one()
        if count == 0:
            return []
        runs = [(first, last)]
        if last - first + 1 != count:  # another writer took ids in between
            ids = self.connection.execute(select(table.c.id).where(added).order_by(table.c.id))
            runs = find_runs(ids.scalars())
        return [
            {
                "batch_id": self._id,
                "table_name": table_name,
                "row_id": run_first,
                "last_row_id": run_last,
                "action": "added",
                "before_json": None,
            }
            for run_first, run_last in runs
        ]


def change_report(connection: Connection, batch: str, report_json: str) -> None:
    """Write a batch's report anew, with what was left out."""
    batches = get_table(IMPORT_BATCH)
    connection.execute(update(batches).where(batches.c.batch == batch).values(report_json=report_json))


def find_runs(ids: Iterable[int]) -> list[tuple[int, int]]:
    """Runs of following numbers as first and last.

    Example:
        >>> find_runs([4, 5, 6, 9])
        [(4, 6), (9, 9)]
    """
    runs: list[tuple[int, int]] = []
    for number in ids:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def _write_day(value: Any) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} cannot stand in a journal")
