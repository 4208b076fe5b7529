"""Parts of a place that a count did not scan: which of them are none, when the person says that they are.

A part that moved while the place was counted, or that a code set aside may be, is never taken for none.
"""

import hashlib
import json
from dataclasses import dataclass

from sqlmodel import Session

from api.count_sheet import CountSheet
from kb.edits.count_batch import MOST_LINES
from kb.lookups.count_differences import list_moved_since, list_not_counted


@dataclass(frozen=True, slots=True)
class CountRest:
    """Parts that were not scanned, each with the pieces that the ledger knows.

    Attributes:
        none: those that would be set to none.
        kept: those that stay as they are, because they moved meanwhile or a code set aside may be one.
    """

    none: tuple[tuple[int, int], ...]
    kept: tuple[tuple[int, int], ...]
    mark: int

    @property
    def digest(self) -> str:
        """Stands for what was shown; another one means that something changed since."""
        return hashlib.sha256(json.dumps([self.mark, self.none]).encode()).hexdigest()[:32]

    def build_counted(self) -> dict[int, tuple[int, int]]:
        """No piece of each, as the ledger is told."""
        return {part_id: (0, self.mark) for part_id, _ in self.none}


def find_rest(session: Session, sheet: CountSheet) -> CountRest | None:
    """What was not scanned; None for a count that did not note where the ledger stood when it began."""
    if sheet.mark is None:
        return None
    left, _count = list_not_counted(session, sheet.location_id, sheet.lines.keys(), limit=MOST_LINES)
    doubtful = list_moved_since(session, sheet.location_id, sheet.mark)
    for item in sheet.set_aside.values():
        doubtful.update(item.choice_ids)
    none = tuple(line for line in left if line[0] not in doubtful)
    return CountRest(none, tuple(line for line in left if line[0] in doubtful), sheet.mark)
