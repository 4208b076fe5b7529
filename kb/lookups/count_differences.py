"""What a count would change: pieces counted against the ledger as it stood when counting began."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import Session

from kb.lookups.shelf import split_ids
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class Counted:
    """Pieces found of a part, and the place's last line of the ledger when counting began (0: none yet)."""

    pieces: int
    snapshot: int


@dataclass(frozen=True, slots=True)
class CountDifference:
    """A counted part against the ledger.

    Attributes:
        known: pieces by the ledger when counting began.
        counted: pieces found.
        moved_since: pieces that came (or, below 0, went) since counting began.
    """

    part_id: int
    known: int
    counted: int
    moved_since: int

    @property
    def difference(self) -> int:
        """What the count books."""
        return self.counted - self.known

    @property
    def on_hand_after(self) -> int:
        """What the place will hold once the count is booked."""
        return self.counted + self.moved_since


def find_last_movement(session: Session, location_id: int, part_id: int | None = None) -> int:
    """Number of the last line of the ledger of a part at a location, or of the location; 0 for none."""
    movement = get_table("stock_movement").c
    question = select(func.max(movement.id)).where(movement.location_id == location_id)
    if part_id is not None:
        question = question.where(movement.part_id == part_id)
    return int(session.execute(question).scalar() or 0)


def list_differences(
    session: Session, location_id: int, counted: Mapping[int, Counted]
) -> list[CountDifference]:
    """Each counted part against the ledger, in the order given."""
    movement = get_table("stock_movement").c
    then, since = dict.fromkeys(counted, 0), dict.fromkeys(counted, 0)
    for group in split_ids(counted.keys()):
        rows = session.execute(
            select(movement.part_id, movement.id, movement.quantity).where(
                movement.location_id == location_id, movement.part_id.in_(group)
            )
        )
        for part_id, movement_id, quantity in rows:
            side = then if movement_id <= counted[part_id].snapshot else since
            side[part_id] += quantity
    return [
        CountDifference(part_id, then[part_id], line.pieces, since[part_id])
        for part_id, line in counted.items()
    ]


def list_not_counted(
    session: Session, location_id: int, counted_ids: Collection[int], *, limit: int
) -> tuple[list[tuple[int, int]], int]:
    """Parts with pieces at a location that were not counted, as id and pieces, and how many there are."""
    level = get_table("stock_level").c
    rows = session.execute(
        select(level.part_id, level.on_hand)
        .where(level.location_id == location_id, level.on_hand > 0)
        .order_by(level.part_id)
    )
    left = [(part_id, on_hand) for part_id, on_hand in rows if part_id not in counted_ids]
    return left[:limit], len(left)


def list_moved_since(session: Session, location_id: int, mark: int) -> set[int]:
    """Parts that came to or left a location after a line of the ledger."""
    movement = get_table("stock_movement").c
    question = select(movement.part_id).where(movement.location_id == location_id, movement.id > mark)
    return set(session.execute(question.distinct()).scalars())
