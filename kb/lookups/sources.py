"""Sources of values, by id."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.rules.source import SourceRef
from kb.tables.columns import get_table
from kb.terms import SourceKind


def find_sources(session: Session, source_ids: Iterable[int]) -> dict[int, SourceRef]:
    """Sources by id."""
    source = get_table("source")
    found = session.execute(
        select(
            source.c.id, source.c.source, source.c.kind, source.c.title, source.c.edition, source.c.locator
        ).where(source.c.id.in_(set(source_ids)))
    )
    return {
        row.id: SourceRef(row.source, SourceKind(row.kind), row.title, row.edition, row.locator)
        for row in found
    }


def read_sourced_rows(session: Session, statement: Any) -> list[tuple[Any, SourceRef]]:
    """Rows of a statement that selects a ``source_id``, each with its source, best source first."""
    rows = session.execute(statement).all()
    sources = find_sources(session, (row.source_id for row in rows))
    paired = [(row, sources[row.source_id]) for row in rows]
    return sorted(paired, key=lambda pair: (pair[1].rank, pair[1].source))
