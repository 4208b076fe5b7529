"""What an import tells besides problems, and the first rows that it adds or changes, for a preview."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy import Connection, select

from kb.edits.problem import Notice
from kb.edits.target import NameReference, Target
from kb.tables.columns import get_table

KEPT_PER_TOPIC = 100


@dataclass(slots=True)
class NoticeList:
    """Notices of one file: all are counted, the first hundred of each topic are kept."""

    kept: list[Notice] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def add(self, notice: Notice) -> None:
        """Note one more."""
        self.counts[notice.topic] += 1
        if self.counts[notice.topic] <= KEPT_PER_TOPIC:
            self.kept.append(notice)

    def clear(self) -> None:
        """Forget all, before the file is read once more."""
        self.kept.clear()
        self.counts.clear()


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row that is added (``before`` is empty) or changed, with the values that differ.

    ``maker`` and ``part_number`` name the part that the row is about, where it is about one.
    """

    line: int
    action: str
    before: dict[str, Any]
    after: dict[str, Any]
    part_id: int | None = None
    maker: str | None = None
    part_number: str | None = None


def name_rows(connection: Connection, target: Target, changes: Iterable[RowChange]) -> tuple[RowChange, ...]:
    """The changes with maker and part number of their parts, and names in place of the ids referred to."""
    listed = list(changes)
    parts = _read_parts(connection, listed)
    for reference in target.names:
        names = _read_names(connection, reference, listed)
        listed = [
            replace(
                change,
                before=_replace_id(change.before, reference, names),
                after=_replace_id(change.after, reference, names),
            )
            for change in listed
        ]
    unknown = (None, None)
    return tuple(
        replace(change, maker=maker, part_number=part_number)
        for change in listed
        for maker, part_number in (parts.get(change.part_id or 0, unknown),)
    )


def _read_parts(connection: Connection, changes: Iterable[RowChange]) -> dict[int, tuple[str, str]]:
    part, maker = get_table("part"), get_table("maker")
    ids = sorted({change.part_id for change in changes if change.part_id is not None})
    question = select(part.c.id, maker.c.maker, part.c.part_number).select_from(part.join(maker))
    return {row[0]: (row[1], row[2]) for row in connection.execute(question.where(part.c.id.in_(ids)))}


def _read_names(
    connection: Connection, reference: NameReference, changes: Iterable[RowChange]
) -> dict[int, str]:
    table = get_table(reference.table)
    sides = (side for change in changes for side in (change.before, change.after))
    ids = sorted({side[reference.id_column] for side in sides if side.get(reference.id_column) is not None})
    question = select(table.c.id, table.c[reference.table]).where(table.c.id.in_(ids))
    return {row[0]: row[1] for row in connection.execute(question)} if ids else {}


def _replace_id(values: dict[str, Any], reference: NameReference, names: dict[int, str]) -> dict[str, Any]:
    return {
        (reference.column if column == reference.id_column else column): (
            names.get(value, value) if column == reference.id_column else value
        )
        for column, value in values.items()
    }
