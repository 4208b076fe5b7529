"""What replaced a part number: its next successor, the last of the chain, and equals and substitutes."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.shelf import split_ids
from kb.lookups.sources import read_sourced_rows
from kb.tables.columns import get_table
from kb.terms import ReplacementKind


@dataclass(frozen=True, slots=True)
class Successors:
    """Ids of the next part and of the last part of a chain of superseded numbers."""

    next_id: int
    last_id: int


def find_successors(session: Session, part_id: int) -> Successors | None:
    """Next and last successor of a part; None where nothing supersedes it.

    Where sources name different successors the best source is followed. Loops cannot be stored; were there
    one, the walk would end before the first part comes up again.
    """
    table = get_table("replacement")
    chain: list[int] = []
    current, seen = part_id, {part_id}
    while True:
        statement = select(table.c.id, table.c.by_part_id, table.c.source_id).where(
            table.c.part_id == current, table.c.kind == ReplacementKind.SUPERSEDES
        )
        stated = read_sourced_rows(session, statement)
        by_id = stated[0][0].by_part_id if stated else None
        if by_id is None or by_id in seen:
            break
        chain.append(by_id)
        seen.add(by_id)
        current = by_id
    return Successors(chain[0], chain[-1]) if chain else None


def find_equals(session: Session, part_ids: Collection[int]) -> set[int]:
    """Ids of parts recorded as a substitute for these parts, or of the same size in either direction."""
    table = get_table("replacement")
    found: set[int] = set()
    for group in split_ids(part_ids):
        by = select(table.c.by_part_id).where(
            table.c.part_id.in_(group), table.c.kind != ReplacementKind.SUPERSEDES
        )
        back = select(table.c.part_id).where(
            table.c.by_part_id.in_(group), table.c.kind == ReplacementKind.SAME_SIZE
        )
        found.update(session.execute(by).scalars())
        found.update(session.execute(back).scalars())
    return found
