"""What replaced a part number: its next successor and the last of the chain."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from kb.tables.columns import get_table
from kb.terms import ReplacementKind


@dataclass(frozen=True, slots=True)
class Successors:
    """Ids of the next part and of the last part of a chain of superseded numbers."""

    next_id: int
    last_id: int


def find_successors(session: Session, part_id: int) -> Successors | None:
    """Next and last successor of a part; None where nothing supersedes it. Loops cannot be stored."""
    table = get_table("replacement")
    chain: list[int] = []
    current, seen = part_id, {part_id}
    while True:
        by_id = session.execute(
            select(table.c.by_part_id)
            .where(table.c.part_id == current, table.c.kind == ReplacementKind.SUPERSEDES)
            .order_by(table.c.id)
        ).scalar()
        if by_id is None or by_id in seen:
            break
        chain.append(by_id)
        seen.add(by_id)
        current = by_id
    return Successors(chain[0], chain[-1]) if chain else None
