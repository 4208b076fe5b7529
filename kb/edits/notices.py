"""What an import tells besides problems, and the first rows that it adds or changes, for a preview."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from kb.edits.problem import Notice

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
