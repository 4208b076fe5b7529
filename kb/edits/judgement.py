"""What a person decides against the figures: a level set by hand, demand left out; with who and why."""

from datetime import date

from sqlalchemy import delete, insert, select
from sqlmodel import Session

from kb.edits.demand_months import add_demand
from kb.edits.ledger import MOST_PIECES, Entry, Place, check_quantity
from kb.errors import BadInput, NotFound
from kb.tables.columns import get_table


def change_manual_level(
    session: Session, part_id: int, level: int, *, location_id: int | None, entry: Entry
) -> None:
    """Set a stock level by hand, for a location or (None) for the shop as one."""
    who, why = _check_reason(entry)
    if not 0 <= level <= MOST_PIECES:
        raise BadInput(f"Level '{level}' is not usable; write 0 to {MOST_PIECES} pieces.", field="level")
    _remove_level(session, part_id, location_id)
    session.connection().execute(
        insert(get_table("manual_level")).values(
            part_id=part_id,
            location_id=location_id,
            level=level,
            why=why,
            made_by=who,
            made_at_utc=entry.made_at_utc,
        )
    )


def remove_manual_level(session: Session, part_id: int, *, location_id: int | None) -> None:
    """Let the level be computed again."""
    if not _remove_level(session, part_id, location_id):
        raise NotFound("No level is set by hand here; the computed one holds already.")


def add_excluded_demand(session: Session, place: Place, quantity: int, *, day: date, entry: Entry) -> None:
    """Take pieces of a day out of the demand, such as a one-off bulk sale."""
    who, why = _check_reason(entry)
    session.connection().execute(
        insert(get_table("excluded_demand")).values(
            location_id=place.location_id,
            part_id=place.part_id,
            asked_on=day,
            quantity=check_quantity(quantity),
            why=why,
            made_by=who,
            made_at_utc=entry.made_at_utc,
        )
    )
    add_demand(session.connection(), place.location_id, place.part_id, day=day, pieces=-quantity)


def _check_reason(entry: Entry) -> tuple[str, str]:
    if not (entry.made_by or "").strip() or not (entry.note or "").strip():
        message = "A decision against the figures needs who and why; write both."
        raise BadInput(message, field="why" if (entry.made_by or "").strip() else "made_by")
    return str(entry.made_by).strip(), str(entry.note).strip()


def _remove_level(session: Session, part_id: int, location_id: int | None) -> bool:
    levels = get_table("manual_level")
    here = levels.c.location_id.is_(None) if location_id is None else levels.c.location_id == location_id
    connection = session.connection()
    found = connection.execute(select(levels.c.id).where(levels.c.part_id == part_id, here)).scalars().all()
    connection.execute(delete(levels).where(levels.c.id.in_(found)))
    return bool(found)
