"""What the columns of somebody's lists mean: remembered for the next one, and forgotten."""

from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import delete
from sqlmodel import Session

from kb.edits.upsert import build_insert
from kb.errors import BadInput, NotFound
from kb.rules.nearest import format_nearest
from kb.tables.columns import get_table

LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """What is to be remembered.

    Args:
        name: usually the supplier's.
        kind: kind of sheet.
        headings_key: the folded heading line.
        mapping_json: what the columns mean, as the importers read it.
    """

    name: str
    kind: str
    headings_key: str
    mapping_json: str


def check_map_name(name: str) -> str:
    """A name under which columns may be remembered, without blanks around it.

    Raises:
        BadInput: it is empty, too long, or holds signs that cannot be seen.
    """
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable():
        raise BadInput(
            f"'{name[:40]}' is no name to remember columns by; write 1 to {LONGEST_NAME} characters, for "
            "example the supplier.",
            field="name",
        )
    return name


def change_column_map(session: Session, row: ColumnMap, *, now: datetime) -> None:
    """Remember what columns mean; what was remembered under the name for this kind of list is replaced."""
    connection, table = session.connection(), get_table("column_map")
    values = {
        "headings_key": row.headings_key,
        "mapping_json": row.mapping_json,
        "saved_at_utc": now.astimezone(UTC),
    }
    statement = build_insert(connection, table).values(name=check_map_name(row.name), kind=row.kind, **values)
    connection.execute(statement.on_conflict_do_update(index_elements=["name", "kind"], set_=values))


def remove_column_map(session: Session, name: str, kind: str) -> None:
    """Forget what was remembered.

    Raises:
        NotFound: nothing is remembered under this name.
    """
    connection, table = session.connection(), get_table("column_map")
    gone = connection.execute(delete(table).where(table.c.name == name, table.c.kind == kind))
    if not gone.rowcount:
        names = [row.name for row in connection.execute(table.select())]
        raise NotFound(f"Nothing is remembered as '{name[:60]}'; {format_nearest(name, names)}.")
