"""Many counted parts of one location booked together: all of them, or none."""

from collections.abc import Mapping
from datetime import UTC

from sqlmodel import Session

from kb.edits.ledger import Entry, Place, Posted, add_count
from kb.errors import BadInput

MOST_LINES = 20_000


def add_count_batch(
    session: Session, location_id: int, counted: Mapping[int, tuple[int, int]], entry: Entry
) -> dict[int, Posted]:
    """Book a count; returns what was posted, by part.

    Args:
        session: a writer's session; the caller commits.
        location_id: the location that was counted.
        counted: pieces found and snapshot, by part; the snapshot is the place's last line of the ledger when
            counting began, so that what is sold meanwhile is not booked twice.
        entry: who counts and when; the batch is named in its note.

    Raises:
        BadInput: nothing was counted, or more lines than one batch may have.
        Conflict: a difference would bring a place below nothing; nothing was booked.
    """
    if not 1 <= len(counted) <= MOST_LINES:
        raise BadInput(
            f"A count of {len(counted)} lines is not usable; count 1 to {MOST_LINES} parts at a time.",
            field="lines",
        )
    noted = Entry(
        entry.made_at, entry.made_by, entry.note or f"count of {entry.made_at.astimezone(UTC):%F %R}"
    )
    with session.begin_nested():
        # Places are always locked in the same order, so that two counts never wait for each other.
        return {
            part_id: add_count(session, Place(location_id, part_id), pieces, noted, snapshot=snapshot)
            for part_id, (pieces, snapshot) in sorted(counted.items())
        }
