"""Imports that were made: their reports, and whether they were taken back."""

import json
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import NotFound
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table


def get_import(session: Session, batch: str) -> dict[str, Any]:
    """Report of an import with its file, digest, time, mapping and state.

    Raises:
        NotFound: no import has this name.
    """
    table = get_table("import_batch")
    found = session.connection().execute(select(table).where(table.c.batch == batch)).first()
    if found is None:
        names = list(session.connection().execute(select(table.c.batch)).scalars())
        message = f"Import '{batch}' is not known; {format_nearest(batch, names)}."
        raise NotFound(message, nearest=find_nearest(batch, names))
    mapping = json.loads(found.mapping_json) if found.mapping_json else None
    report: dict[str, Any] = {"dry_run": False, "files": []} | json.loads(found.report_json)
    return report | _describe(found) | {"digest_sha256": found.digest_sha256, "mapping": mapping}


def find_import_of_file(session: Session, digest_sha256: str, *, since: datetime) -> dict[str, Any] | None:
    """Report of the import of a file with this content, made since then; None when there is none."""
    table = get_table("import_batch").c
    question = select(table.report_json).where(
        table.digest_sha256 == digest_sha256, table.made_at_utc >= since, table.undone_at_utc.is_(None)
    )
    found = session.connection().execute(question.order_by(table.id.desc())).scalar()
    report: dict[str, Any] | None = None if found is None else json.loads(found)
    return report


def list_imports(
    session: Session, *, limit: int, before: int | None = None
) -> tuple[list[dict[str, Any]], int | None]:
    """Imports, the newest first, and the mark of the next page."""
    table = get_table("import_batch")
    question = select(table).order_by(table.c.id.desc()).limit(limit + 1)
    if before is not None:
        question = question.where(table.c.id < before)
    rows = session.connection().execute(question).all()
    shown = [_describe(row) for row in rows[:limit]]
    return shown, rows[limit - 1].id if len(rows) > limit else None


def _describe(row: Any) -> dict[str, Any]:
    undone = row.undone_at_utc
    return {
        "batch": row.batch,
        "kind": row.kind,
        "file_name": row.file_name,
        "made_at_utc": row.made_at_utc.isoformat(),
        "state": row.state,
        "undone_at_utc": undone.isoformat() if undone else None,
    }
