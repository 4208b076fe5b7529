"""Parts set aside for a job on a machine: committed, used, or freed again.

More may be promised than there is: then the available pieces are negative, and the low-stock list says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import insert, select, update
from sqlmodel import Session

from kb.edits.ledger import Entry, Place, Posted, add_issue_of_set_aside, check_quantity, make_level
from kb.errors import BadInput, Conflict, NotFound
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class NewMachineJob:
    """A job on a machine: what the shop calls the machine, and which template and engine it follows."""

    machine: str
    location_id: int
    job_id: int | None = None
    engine_id: int | None = None


@dataclass(frozen=True, slots=True)
class WantedPart:
    """Pieces of a part to set aside, and where they go."""

    part_id: int
    quantity: int
    position: str | None = None


@dataclass(frozen=True, slots=True)
class SetAsideLine:
    """A line that was set aside; ``short`` pieces are promised but not there."""

    id: int
    part_id: int
    quantity: int
    short: int


@dataclass(frozen=True, slots=True)
class OpenedMachineJob:
    """A job that was opened, with its lines."""

    id: int
    lines: tuple[SetAsideLine, ...]


def add_machine_job(
    session: Session, new: NewMachineJob, wanted: Sequence[WantedPart], *, entry: Entry
) -> OpenedMachineJob:
    """Open a job on a machine and set its parts aside, in one step."""
    if not new.machine.strip():
        raise BadInput("A job needs to say which machine it is for; write its plate.", field="machine")
    jobs = get_table("machine_job")
    job_id = session.connection().execute(
        insert(jobs)
        .values(
            machine=new.machine.strip(),
            job_id=new.job_id,
            engine_id=new.engine_id,
            location_id=new.location_id,
            state="open",
            note=entry.note,
            made_by=entry.made_by,
            made_at_utc=entry.made_at_utc,
        )
        .returning(jobs.c.id)
    ).scalar_one()  # fmt: skip
    lines = [
        _set_aside(session, job_id, new.location_id, wanted=item)
        for item in sorted(wanted, key=lambda item: item.part_id)
    ]
    return OpenedMachineJob(job_id, tuple(lines))


def add_set_aside(session: Session, machine_job_id: int, wanted: WantedPart) -> SetAsideLine:
    """Set one more part aside for an open job.

    Raises:
        NotFound: there is no such job. Conflict: it is closed or cancelled.
    """
    jobs = get_table("machine_job").c
    job = session.connection().execute(
        select(jobs.location_id, jobs.state).where(jobs.id == machine_job_id)
    ).first()  # fmt: skip
    if job is None:
        raise NotFound(f"Job '{machine_job_id}' on a machine is not known; the list of jobs shows them.")
    if job.state != "open":
        raise Conflict(f"Job '{machine_job_id}' is {job.state}; open a new one for further parts.")
    return _set_aside(session, machine_job_id, job.location_id, wanted=wanted)


def change_set_aside_to_used(session: Session, line_id: int, quantity: int, entry: Entry) -> Posted:
    """Issue pieces that were set aside: they are used on the machine.

    Raises:
        Conflict: fewer are still set aside, or fewer are on hand.
    """
    place = _take_from_line(session, line_id, check_quantity(quantity), column="used")
    return add_issue_of_set_aside(session, place, quantity, entry)


def change_set_aside_to_freed(session: Session, line_id: int, quantity: int) -> None:
    """Free pieces that were set aside and are not needed; the counter may sell them."""
    place = _take_from_line(session, line_id, check_quantity(quantity), column="freed")
    _change_committed(session, place, -quantity)


def change_machine_job_state(session: Session, machine_job_id: int, state: str, *, entry: Entry) -> int:
    """Close or cancel a job; whatever is still set aside for it is freed.

    Args:
        session: a writer's session.
        machine_job_id: number of the job.
        state: ``closed`` (done) or ``cancelled``.
        entry: when.

    Returns:
        Pieces freed.
    """
    if state not in ("closed", "cancelled"):
        raise BadInput(f"State '{state}' is not usable; write closed or cancelled.", field="state")
    connection = session.connection()
    jobs, lines = get_table("machine_job"), get_table("set_aside").c
    changed = connection.execute(
        update(jobs)
        .where(jobs.c.id == machine_job_id, jobs.c.state == "open")
        .values(state=state, ended_at_utc=entry.made_at_utc)
        .returning(jobs.c.id)
    ).first()
    if changed is None:
        raise Conflict(f"Job '{machine_job_id}' is not open; nothing was changed.")
    rest = connection.execute(
        select(lines.id, lines.quantity - lines.used - lines.freed)
        .where(lines.machine_job_id == machine_job_id, lines.used + lines.freed < lines.quantity)
        .order_by(lines.part_id)
    ).all()
    for line_id, pieces in rest:
        change_set_aside_to_freed(session, line_id, pieces)
    return sum(pieces for _line_id, pieces in rest)


def _set_aside(session: Session, job_id: int, location_id: int, *, wanted: WantedPart) -> SetAsideLine:
    place = Place(location_id, wanted.part_id)
    check_quantity(wanted.quantity)
    make_level(session.connection(), place)
    available = _change_committed(session, place, wanted.quantity)
    lines = get_table("set_aside")
    line_id = session.connection().execute(
        insert(lines)
        .values(
            machine_job_id=job_id,
            part_id=wanted.part_id,
            quantity=wanted.quantity,
            position=wanted.position,
            used=0,
            freed=0,
        )
        .returning(lines.c.id)
    ).scalar_one()  # fmt: skip
    return SetAsideLine(line_id, wanted.part_id, wanted.quantity, min(max(-available, 0), wanted.quantity))


def _change_committed(session: Session, place: Place, quantity: int) -> int:
    """Change the committed pieces of a place; returns what is available after it."""
    levels = get_table("stock_level")
    row = session.connection().execute(
        update(levels)
        .where(levels.c.location_id == place.location_id, levels.c.part_id == place.part_id)
        .values(committed=levels.c.committed + quantity)
        .returning(levels.c.on_hand, levels.c.committed)
    ).one()  # fmt: skip
    return int(row.on_hand) - int(row.committed)


def _take_from_line(session: Session, line_id: int, quantity: int, *, column: str) -> Place:
    lines, jobs = get_table("set_aside"), get_table("machine_job").c
    changed = session.connection().execute(
        update(lines)
        .where(lines.c.id == line_id, lines.c.used + lines.c.freed + quantity <= lines.c.quantity)
        .values({column: lines.c[column] + quantity})
        .returning(lines.c.part_id, lines.c.machine_job_id)
    ).first()  # fmt: skip
    if changed is None:
        message = (
            f"Line '{line_id}' has fewer than {quantity} pieces set aside; nothing was booked. "
            "The list of the job's parts shows what is left."
        )
        raise Conflict(message)
    location_id = session.connection().execute(
        select(jobs.location_id).where(jobs.id == changed.machine_job_id)
    ).scalar_one()  # fmt: skip
    return Place(location_id, changed.part_id)
