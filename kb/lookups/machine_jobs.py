"""Jobs on machines as they stand, with the parts set aside for each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.tables.columns import get_table
from kb.tables.orders import MACHINE_JOB_STATES


@dataclass(frozen=True, slots=True)
class SetAsidePart:
    """A line of a job; ``on_hand`` at the job's place."""

    id: int
    maker: str
    part_number: str
    position: str | None
    quantity: int
    used: int
    freed: int
    on_hand: int

    @property
    def waiting(self) -> int:
        """Pieces still set aside."""
        return self.quantity - self.used - self.freed


@dataclass(frozen=True, slots=True)
class MachineJobView:
    """A job on a machine with its lines."""

    id: int
    machine: str
    job: str | None
    engine: str | None
    location: str
    state: str
    note: str | None
    made_by: str | None
    made_at_utc: datetime
    lines: tuple[SetAsidePart, ...]


def list_machine_jobs(
    session: Session, *, state: str | None = "open", before: int | None = None, limit: int = 200
) -> list[MachineJobView]:
    """Jobs on machines, newest first; in one state, or (None) in all; only those older than job ``before``.

    Raises:
        BadInput: there is no such state.
    """
    if state is not None and state not in MACHINE_JOB_STATES:
        message = f"State '{state[:60]}' is not one of a job; write one of {', '.join(MACHINE_JOB_STATES)}."
        raise BadInput(message, field="state")
    job = get_table("machine_job")
    statement = select(job.c.id).order_by(job.c.id.desc()).limit(limit)
    if state is not None:
        statement = statement.where(job.c.state == state)
    if before is not None:
        statement = statement.where(job.c.id < before)
    return _read_jobs(session, session.execute(statement).scalars().all())


def list_ended_jobs(session: Session, *, limit: int = 20) -> list[MachineJobView]:
    """The jobs that were closed or cancelled last, newest first."""
    job = get_table("machine_job").c
    statement = select(job.id).where(job.state != "open").order_by(job.ended_at_utc.desc(), job.id.desc())
    return _read_jobs(session, session.execute(statement.limit(limit)).scalars().all())


def get_machine_job(session: Session, machine_job_id: int) -> MachineJobView:
    """One job on a machine.

    Raises:
        NotFound: no job has this number.
    """
    found = _read_jobs(session, [machine_job_id])
    if not found:
        raise NotFound(f"Job '{machine_job_id}' on a machine is not known; the list of jobs shows them.")
    return found[0]


def _read_jobs(session: Session, job_ids: Sequence[int]) -> list[MachineJobView]:
    """Jobs with their lines, in the order of the numbers given."""
    job, kind, engine, place = (get_table(name) for name in ("machine_job", "job", "engine", "location"))
    rows = session.execute(
        select(job, kind.c.job, engine.c.engine, place.c.location)
        .select_from(job.join(place).outerjoin(kind).outerjoin(engine))
        .where(job.c.id.in_(job_ids))
    ).all()
    lines = _read_lines(session, job_ids)
    views = {
        row.id: MachineJobView(
            id=row.id,
            machine=row.machine,
            job=row.job,
            engine=row.engine,
            location=row.location,
            state=row.state,
            note=row.note,
            made_by=row.made_by,
            made_at_utc=row.made_at_utc,
            lines=tuple(lines.get(row.id, ())),
        )
        for row in rows
    }
    return [views[job_id] for job_id in job_ids if job_id in views]


def _read_lines(session: Session, job_ids: Sequence[int]) -> dict[int, list[SetAsidePart]]:
    job, line, part = (get_table(name) for name in ("machine_job", "set_aside", "part"))
    maker, level = get_table("maker"), get_table("stock_level")
    here = (level.c.part_id == line.c.part_id) & (level.c.location_id == job.c.location_id)
    rows = session.execute(
        select(
            line.c.id,
            line.c.machine_job_id,
            maker.c.maker,
            part.c.part_number,
            line.c.position,
            line.c.quantity,
            line.c.used,
            line.c.freed,
            level.c.on_hand,
        )
        .select_from(line.join(job).join(part).join(maker).outerjoin(level, here))
        .where(line.c.machine_job_id.in_(job_ids))
        .order_by(line.c.id)
    )
    found: dict[int, list[SetAsidePart]] = {}
    for row in rows:
        found.setdefault(row.machine_job_id, []).append(
            SetAsidePart(
                row.id,
                row.maker,
                row.part_number,
                row.position,
                row.quantity,
                row.used,
                row.freed,
                row.on_hand or 0,
            )
        )
    return found
