"""What the columns of somebody's lists mean, as it was remembered."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class ColumnMapRow:
    """Remembered columns.

    Attributes:
        name: usually the supplier's.
        kind: kind of sheet.
        headings_key: the folded heading line.
        mapping_json: what the columns mean, as the importers read it.
        saved_at_utc: when it was remembered.
    """

    name: str
    kind: str
    headings_key: str
    mapping_json: str
    saved_at_utc: datetime | None = None


def list_column_maps(session: Session) -> list[ColumnMapRow]:
    """All that is remembered, the newest first."""
    table = get_table("column_map").c
    question = select(
        table.name, table.kind, table.headings_key, table.mapping_json, table.saved_at_utc
    ).order_by(table.saved_at_utc.desc(), table.id.desc())
    return [ColumnMapRow(*row) for row in session.connection().execute(question)]


def get_column_map(session: Session, name: str, kind: str | None = None) -> ColumnMapRow:
    """What is remembered under a name.

    Raises:
        NotFound: nothing is.
        BadInput: several kinds of list are, and none was named.
    """
    rows = list_column_maps(session)
    found = [row for row in rows if row.name == name and kind in (None, row.kind)]
    if not found:
        names = sorted({row.name for row in rows})
        message = f"Nothing is remembered as '{name[:60]}'; {format_nearest(name, names)}."
        raise NotFound(message, nearest=find_nearest(name, names))
    if len(found) > 1:
        kinds = ", ".join(sorted(row.kind for row in found))
        raise BadInput(f"'{name[:60]}' is remembered for several kinds: {kinds}; name one.", field="kind")
    return found[0]
