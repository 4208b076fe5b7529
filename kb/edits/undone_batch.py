"""A batch that is being taken back: who it is, and the sentence when something stands in the way."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from kb.errors import Conflict, NotFound
from kb.rules.nearest import format_nearest
from kb.rules.word_list import format_word_list
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class UndoneBatch:
    """A loaded batch, the writer's connection and the time of the undo."""

    connection: Connection
    id: int
    name: str
    undone_at_utc: datetime

    def build_conflict(self, what: str, batch_ids: Iterable[int | None]) -> Conflict:
        """Conflict that names the later imports, or an entry by hand where a row names none."""
        batches = get_table("import_batch").c
        known = [batch_id for batch_id in batch_ids if batch_id is not None]
        names = self.connection.execute(
            select(batches.batch).where(batches.id.in_(known)).order_by(batches.id)
        ).scalars()
        listed = format_word_list([f"'{name}'" for name in names])
        who = f"import {listed}" if listed else "an entry made by hand"
        remedy = "take that back first" if listed else "remove that entry first"
        return Conflict(f"Import '{self.name}' cannot be taken back: {who} {what}; {remedy}.")


def get_loaded_batch(connection: Connection, batch: str, undone_at_utc: datetime) -> UndoneBatch:
    """The batch of this name.

    Raises:
        NotFound: no batch has this name.
        Conflict: it was taken back already.
    """
    batches = get_table("import_batch")
    found = connection.execute(select(batches).where(batches.c.batch == batch)).mappings().first()
    if found is None:
        names = list(connection.execute(select(batches.c.batch)).scalars())
        raise NotFound(f"Import '{batch}' is not known; {format_nearest(batch, names)}.")
    if found["state"] == "undone":
        raise Conflict(f"Import '{batch}' was taken back already on {found['undone_at_utc']:%Y-%m-%d}.")
    return UndoneBatch(connection, found["id"], batch, undone_at_utc)
