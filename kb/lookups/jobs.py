"""Jobs with their steps, and the tools of the shop."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import NotFound
from kb.rules.card.values import JobStep
from kb.rules.nearest import find_nearest, format_nearest
from kb.rules.tools.owned_tool import OwnedTool
from kb.tables.columns import get_table
from kb.terms import Position, ToolKind


@dataclass(frozen=True, slots=True)
class JobRef:
    """A job as answers name it."""

    id: int
    job: str
    title: str | None
    note: str | None


def list_jobs(session: Session, *, after: str = "", limit: int | None = None) -> tuple[JobRef, ...]:
    """Jobs by name, from the one after ``after`` on; all of them, or no more than ``limit``."""
    job = get_table("job").c
    statement = select(job.id, job.job, job.title, job.note).where(job.job > after).order_by(job.job)
    return tuple(JobRef(*row) for row in session.execute(statement.limit(limit)))


def get_job(session: Session, name: str) -> JobRef:
    """The job with this name or title.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    jobs = list_jobs(session)
    key = name.strip().casefold()
    for job in jobs:
        if key in (job.job.casefold(), (job.title or "").casefold(), job.job.replace("_", " ").casefold()):
            return job
    names = [job.job for job in jobs]
    raise NotFound(
        f"Job '{name[:60]}' is not in the catalogue; {format_nearest(key.replace(' ', '_'), names)}.",
        nearest=find_nearest(key, names, limit=3),
    )


def list_steps(session: Session, job_id: int) -> tuple[JobStep, ...]:
    """Steps of a job in their order."""
    step = get_table("job_step")
    rows = session.execute(select(step).where(step.c.job_id == job_id).order_by(step.c.step))
    return tuple(
        JobStep(
            step=row.step,
            text=row.text,
            position=Position(row.position) if row.position else None,
            needs_part=bool(row.needs_part),
            fastener=bool(row.fastener),
            tool=row.tool,
            consumable=row.consumable,
            caution=row.caution,
        )
        for row in rows
    )


def list_shop_tools(session: Session) -> tuple[OwnedTool, ...]:
    """Tools that the shop lists; one whose ownership is not stated does not count as owned."""
    tool = get_table("tool")
    return tuple(
        OwnedTool(
            tool=row.tool,
            kind=ToolKind(row.kind),
            size_mm=row.size_mm,
            min_nm=row.min_nm,
            max_nm=row.max_nm,
            owned=bool(row.owned),
            note=row.note,
        )
        for row in session.execute(select(tool).order_by(tool.c.id))
    )
