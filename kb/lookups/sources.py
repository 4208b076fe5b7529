"""Sources of values, by id and by name."""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlmodel import Session

from kb.rules.source import SourceRef
from kb.tables.columns import get_table
from kb.terms import SourceKind


def find_sources(session: Session, source_ids: Iterable[int]) -> dict[int, SourceRef]:
    """Sources by id."""
    rows = _select_sources(session, get_table("source").c.id.in_(set(source_ids)))
    return {row.id: _build_ref(row) for row in rows}


def find_sources_by_name(session: Session, names: Iterable[str]) -> dict[str, SourceRef]:
    """Sources by the short name under which answers cite them."""
    rows = _select_sources(session, get_table("source").c.source.in_(set(names)))
    return {row.source: _build_ref(row) for row in rows}


def _select_sources(session: Session, condition: ColumnElement[bool]) -> Sequence[Any]:
    source = get_table("source")
    names = ("id", "source", "kind", "title", "edition", "locator")
    return session.execute(select(*(source.c[name] for name in names)).where(condition)).all()


def _build_ref(row: Any) -> SourceRef:
    return SourceRef(row.source, SourceKind(row.kind), row.title, row.edition, row.locator)


def read_sourced_rows(session: Session, statement: Any) -> list[tuple[Any, SourceRef]]:
    """Rows of a statement that selects a ``source_id``, each with its source, best source first."""
    rows = session.execute(statement).all()
    sources = find_sources(session, (row.source_id for row in rows))
    paired = [(row, sources[row.source_id]) for row in rows]
    return sorted(paired, key=lambda pair: (pair[1].rank, pair[1].source))
