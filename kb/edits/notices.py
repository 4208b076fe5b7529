"""What an import tells besides problems, and the first rows that it adds or changes, for a preview."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, select

from kb.edits.problem import Notice
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


def name_parts(connection: Connection, changes: Iterable[RowChange]) -> tuple[RowChange, ...]:
    """The changes with maker and part number of their parts."""
    listed = list(changes)
    part, maker = get_table("part"), get_table("maker")
    ids = sorted({change.part_id for change in listed if change.part_id is not None})
    question = select(part.c.id, maker.c.maker, part.c.part_number).select_from(part.join(maker))
    names = {row[0]: (row[1], row[2]) for row in connection.execute(question.where(part.c.id.in_(ids)))}
    return tuple(
        RowChange(
            change.line, change.action, change.before, change.after, change.part_id,
            *names.get(change.part_id or 0, (None, None)),
        )
        for change in listed
    )  # fmt: skip
