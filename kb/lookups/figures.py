"""How much there is: sizes for whoever watches over the service."""

from dataclasses import dataclass

from sqlalchemy import func, select, text
from sqlmodel import Session

from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class DatabaseFigures:
    """Size of the database [bytes], parts in the catalogue, parts with pieces on a shelf, engines."""

    size_bytes: int
    parts: int
    stocked_parts: int
    engines: int


def count_database(session: Session) -> DatabaseFigures:
    """The figures, in one read transaction."""
    level = get_table("stock_level")
    if session.get_bind().dialect.name == "sqlite":
        size = text("SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()")
    else:
        size = text("SELECT pg_database_size(current_database())")
    stocked = select(func.count(func.distinct(level.c.part_id))).where(level.c.on_hand > 0)
    return DatabaseFigures(
        size_bytes=int(session.execute(size).scalar_one()),
        parts=int(session.execute(select(func.count()).select_from(get_table("part"))).scalar_one()),
        stocked_parts=int(session.execute(stocked).scalar_one()),
        engines=int(session.execute(select(func.count()).select_from(get_table("engine"))).scalar_one()),
    )
