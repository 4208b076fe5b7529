"""What a person decides against the figures: a level set by hand, demand left out; with who and why."""

from datetime import date

from sqlalchemy import Connection, delete, insert, select
from sqlmodel import Session

from kb.edits.demand_months import add_demand
from kb.edits.ledger import MOST_PIECES, Entry, Place, check_quantity
from kb.errors import BadInput, Conflict, NotFound
from kb.tables.columns import get_table
from kb.tables.demand_rows import build_day_sums


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


def add_excluded_demand(session: Session, place: Place, quantity: int, *, day: date, entry: Entry) -> int:
    """Take pieces of a day out of the demand, such as a one-off bulk sale; returns the decision's number.

    Raises:
        Conflict: so many were not asked for on that day, or are left out already.
        BadInput: who, why or the quantity is not usable.
    """
    who, why = _check_reason(entry)
    check_quantity(quantity)
    connection = session.connection()
    counted = _count_demand(connection, place, day)
    if quantity > counted:
        message = (
            f"On {day} {counted} pieces count as demand here, so {quantity} cannot be left out; nothing was "
            "changed. The part's list of demand days shows them."
        )
        raise Conflict(message, figures={"counted": counted})
    table = get_table("excluded_demand")
    row = connection.execute(
        insert(table)
        .values(
            location_id=place.location_id,
            part_id=place.part_id,
            asked_on=day,
            quantity=quantity,
            why=why,
            made_by=who,
            made_at_utc=entry.made_at_utc,
        )
        .returning(table.c.id)
    )
    add_demand(connection, place.location_id, place.part_id, day=day, pieces=-quantity)
    return int(row.scalar_one())


def remove_excluded_demand(session: Session, exclusion_id: int) -> None:
    """Let pieces that were left out count as demand again.

    Raises:
        NotFound: there is no such decision (any more).
    """
    table = get_table("excluded_demand")
    connection = session.connection()
    row = connection.execute(
        delete(table)
        .where(table.c.id == exclusion_id)
        .returning(table.c.location_id, table.c.part_id, table.c.asked_on, table.c.quantity)
    ).first()
    if row is None:
        message = f"No demand is left out under the number '{exclusion_id}'; the part's page shows what is."
        raise NotFound(message)
    add_demand(connection, row.location_id, row.part_id, day=row.asked_on, pieces=row.quantity)


def _count_demand(connection: Connection, place: Place, day: date) -> int:
    """Pieces of a day that count as demand at a place."""
    # Decisions on one part are made one after another, so that the same pieces are not left out twice.
    parts = get_table("part").c
    connection.execute(select(parts.id).where(parts.id == place.part_id).with_for_update()).scalar_one()
    sums = build_day_sums(connection.dialect.name, place.part_id, since=day).subquery()
    row = connection.execute(
        select(sums.c.asked, sums.c.left_out).where(
            sums.c.location_id == place.location_id, sums.c.day == day
        )
    ).first()
    return max(row.asked - row.left_out, 0) if row else 0


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
