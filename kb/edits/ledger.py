"""Postings to the stock ledger: receive, issue, return, move, count, write off.

Nothing is ever changed or removed: a mistake is corrected by another posting. On hand is guarded by one
conditional UPDATE, so that the last piece is given out once however many ask for it at the same time; a
CHECK of the table stands behind it.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import ColumnElement, Connection, func, insert, select, update
from sqlmodel import Session

from kb.edits.demand_months import add_demand
from kb.edits.stock_outs import note_stock_out
from kb.edits.upsert import build_insert
from kb.errors import BadInput, Conflict
from kb.tables.columns import get_table

MOST_PIECES = 1_000_000


@dataclass(frozen=True, slots=True)
class Place:
    """A part at a location, by ids."""

    location_id: int
    part_id: int


@dataclass(frozen=True, slots=True)
class Entry:
    """When a posting is made, by whom, and what for."""

    made_at: datetime
    made_by: str | None = None
    note: str | None = None

    @property
    def made_at_utc(self) -> datetime:
        """The time as it is stored."""
        return self.made_at.astimezone(UTC)

    @property
    def day(self) -> date:
        """The day that demand counts for."""
        return self.made_at_utc.date()


@dataclass(frozen=True, slots=True)
class Posted:
    """A posting that was made: its line in the ledger, and what the place holds after it."""

    movement_id: int
    kind: str
    quantity: int
    on_hand: int
    committed: int
    other_on_hand: int | None = None


def add_receipt(session: Session, place: Place, quantity: int, entry: Entry) -> Posted:
    """Pieces that came from a supplier."""
    return _post(session, place, "receive", quantity=check_quantity(quantity), entry=entry)


def add_issue(
    session: Session, place: Place, quantity: int, entry: Entry, *, may_take_set_aside: bool = False
) -> Posted:
    """Pieces handed out over the counter; those set aside for jobs stay unless told otherwise.

    Raises:
        Conflict: there are not so many; nothing is booked.
    """
    check_quantity(quantity)
    levels = get_table("stock_level").c
    spare = None if may_take_set_aside else levels.on_hand - levels.committed >= quantity
    posted = _post(session, place, "issue", quantity=-quantity, entry=entry, condition=spare)
    add_demand(session.connection(), place.location_id, place.part_id, day=entry.day, pieces=quantity)
    return posted


def add_return(session: Session, place: Place, quantity: int, entry: Entry) -> Posted:
    """Pieces that came back unused; they were no demand."""
    posted = _post(session, place, "return", quantity=check_quantity(quantity), entry=entry)
    add_demand(session.connection(), place.location_id, place.part_id, day=entry.day, pieces=-quantity)
    return posted


def add_write_off(session: Session, place: Place, quantity: int, entry: Entry) -> Posted:
    """Pieces that are lost, broken or too old; no demand."""
    return _post(session, place, "write_off", quantity=-check_quantity(quantity), entry=entry)


def add_move(session: Session, place: Place, to_location_id: int, quantity: int, entry: Entry) -> Posted:
    """Pieces moved to another location: two lines in one transaction, both or none."""
    check_quantity(quantity)
    if to_location_id == place.location_id:
        raise BadInput("A move needs two different locations; name another one to move to.", field="to")
    target = Place(to_location_id, place.part_id)
    levels = get_table("stock_level").c
    spare = levels.on_hand - levels.committed >= quantity
    # Rows are always locked in the same order, so that opposite moves never wait for each other.
    legs: list[tuple[Place, int, ColumnElement[bool] | None, int]] = [
        (place, -quantity, spare, to_location_id),
        (target, quantity, None, place.location_id),
    ]
    legs.sort(key=lambda leg: leg[0].location_id)
    posted = {
        leg[0]: _post(
            session, leg[0], "move", quantity=leg[1], entry=entry, condition=leg[2], other_location_id=leg[3]
        )
        for leg in legs
    }
    given, taken = posted[place], posted[target]
    return Posted(given.movement_id, "move", given.quantity, given.on_hand, given.committed, taken.on_hand)


def add_count(
    session: Session, place: Place, counted: int, entry: Entry, *, snapshot: int | None = None
) -> Posted:
    """The difference between pieces counted and what the ledger said when counting began.

    Args:
        session: a writer's session.
        place: the part at the location.
        counted: pieces found, 0 or more.
        entry: who counts and when.
        snapshot: the place's last line of the ledger when counting began (``snapshot`` of the stock answer).
            What is sold while somebody counts is then not booked twice. None: now.

    Raises:
        Conflict: the difference would bring the place below nothing.
    """
    if not 0 <= counted <= MOST_PIECES:
        raise BadInput(f"Count '{counted}' is not usable; write 0 to {MOST_PIECES} pieces.", field="quantity")
    connection = session.connection()
    _lock_level(connection, place)
    movement = get_table("stock_movement").c
    question = select(func.coalesce(func.sum(movement.quantity), 0)).where(
        movement.location_id == place.location_id, movement.part_id == place.part_id
    )
    if snapshot is not None:
        question = question.where(movement.id <= snapshot)
    known = int(connection.execute(question).scalar_one())
    posted = _post(session, place, "count", quantity=counted - known, entry=entry)
    counts = get_table("stock_count")
    statement = build_insert(connection, counts).values(
        location_id=place.location_id, part_id=place.part_id, on_hand=counted, counted_on=entry.day
    )
    connection.execute(
        statement.on_conflict_do_update(
            index_elements=["location_id", "part_id", "counted_on"],
            set_={"on_hand": counted, "batch_id": None},
        )
    )
    return posted


def add_unmet_request(session: Session, place: Place, quantity: int, entry: Entry) -> int:
    """Write down pieces that were asked for and not had; returns the id of the note."""
    connection = session.connection()
    unmet = get_table("unmet_request")
    row = connection.execute(
        insert(unmet)
        .values(
            location_id=place.location_id,
            part_id=place.part_id,
            asked_on=entry.day,
            quantity=check_quantity(quantity),
            note=entry.note,
            made_by=entry.made_by,
            made_at_utc=entry.made_at_utc,
        )
        .returning(unmet.c.id)
    )
    add_demand(connection, place.location_id, place.part_id, day=entry.day, pieces=quantity)
    return int(row.scalar_one())


def check_quantity(quantity: int) -> int:
    """The quantity of a posting, if it is one.

    Raises:
        BadInput: it is not a whole number from 1 to a million.
    """
    if not 1 <= quantity <= MOST_PIECES:
        message = f"Quantity '{quantity}' is not usable; write a whole number from 1 to {MOST_PIECES}."
        raise BadInput(message, field="quantity")
    return quantity


def _post(  # noqa: PLR0913 - one line of the ledger has so many columns
    session: Session,
    place: Place,
    kind: str,
    *,
    quantity: int,
    entry: Entry,
    condition: ColumnElement[bool] | None = None,
    other_location_id: int | None = None,
    uses_set_aside: bool = False,
) -> Posted:
    connection = session.connection()
    levels = get_table("stock_level")
    if quantity >= 0:
        make_level(connection, place)
    statement = update(levels).where(
        levels.c.location_id == place.location_id,
        levels.c.part_id == place.part_id,
        levels.c.on_hand + quantity >= 0,
    )
    if condition is not None:
        statement = statement.where(condition)
    values: dict[str, ColumnElement[int]] = {"on_hand": levels.c.on_hand + quantity}
    if uses_set_aside:
        values["committed"] = levels.c.committed + quantity
        statement = statement.where(levels.c.committed + quantity >= 0)
    row = connection.execute(statement.values(values).returning(levels.c.on_hand, levels.c.committed)).first()
    if row is None:
        raise _build_shortage(connection, place, kind, quantity=-quantity)
    # The ledger line gets its number after the level is locked: the numbers of a place rise in the order
    # in which they are committed, which a count's snapshot relies on.
    movement = get_table("stock_movement")
    movement_id = connection.execute(
        insert(movement)
        .values(
            location_id=place.location_id,
            part_id=place.part_id,
            kind=kind,
            quantity=quantity,
            other_location_id=other_location_id,
            note=entry.note,
            made_by=entry.made_by,
            made_at_utc=entry.made_at_utc,
        )
        .returning(movement.c.id)
    ).scalar_one()
    note_stock_out(
        connection, (place.location_id, place.part_id), before=row.on_hand - quantity, after=row.on_hand,
        day=entry.day,
    )  # fmt: skip
    return Posted(movement_id, kind, quantity, row.on_hand, row.committed)


def add_issue_of_set_aside(session: Session, place: Place, quantity: int, entry: Entry) -> Posted:
    """Pieces that were set aside for a job and are now used on it."""
    posted = _post(
        session, place, "issue", quantity=-check_quantity(quantity), entry=entry, uses_set_aside=True
    )
    add_demand(session.connection(), place.location_id, place.part_id, day=entry.day, pieces=quantity)
    return posted


def make_level(connection: Connection, place: Place) -> None:
    """Make the place's level where there is none yet."""
    connection.execute(
        build_insert(connection, get_table("stock_level"))
        .values(location_id=place.location_id, part_id=place.part_id, on_hand=0, committed=0)
        .on_conflict_do_nothing(index_elements=["location_id", "part_id"])
    )


def _lock_level(connection: Connection, place: Place) -> None:
    make_level(connection, place)
    levels = get_table("stock_level").c
    connection.execute(
        select(levels.id)
        .where(levels.location_id == place.location_id, levels.part_id == place.part_id)
        .with_for_update()
    ).scalar_one()


def _build_shortage(connection: Connection, place: Place, kind: str, *, quantity: int) -> Conflict:
    levels, parts, locations = get_table("stock_level").c, get_table("part").c, get_table("location").c
    known = connection.execute(
        select(levels.on_hand, levels.committed).where(
            levels.location_id == place.location_id, levels.part_id == place.part_id
        )
    ).first()
    on_hand, committed = (known.on_hand, known.committed) if known else (0, 0)
    number = connection.execute(select(parts.part_number).where(parts.id == place.part_id)).scalar()
    location = connection.execute(
        select(locations.location).where(locations.id == place.location_id)
    ).scalar()
    aside = f", {committed} of them set aside for jobs" if committed else ""
    word = {"write_off": "Write-off"}.get(kind, kind.capitalize())
    message = (
        f"{word} of {quantity} of '{number}' at '{location}' is not possible: {on_hand} on hand{aside}; "
        "nothing was booked. Ask for fewer, receive or count first."
    )
    figures = {"on_hand": on_hand, "committed": committed, "available": on_hand - committed}
    return Conflict(message, figures=figures)
