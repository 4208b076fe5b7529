"""A job on a machine as somebody wrote it, by names: parts set aside in one step, from a card or a list."""

from datetime import datetime
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from api.postings import MAX_TEXT, NO_NUL
from kb.edits.ledger import Entry
from kb.edits.set_aside import (
    NewMachineJob,
    WantedPart,
    add_machine_job,
    change_machine_job_state,
    change_set_aside_to_freed,
    change_set_aside_to_used,
)
from kb.errors import BadInput, NotFound
from kb.lookups.card import build_card
from kb.lookups.engines import get_engine
from kb.lookups.jobs import get_job
from kb.lookups.locations import get_location
from kb.lookups.machine_jobs import MachineJobView, get_machine_job
from kb.lookups.parts import get_part
from kb.terms import PartType

# A set is one unit of stock, however many rollers the engine needs.
SETS = (PartType.ROLLER_SET, PartType.SLIDER_SET)


class WantedPost(BaseModel):
    """Pieces of a part to set aside."""

    model_config = ConfigDict(extra="forbid")

    maker: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(1, strict=True, ge=1, le=1_000_000)


class MachineJobPost(BaseModel):
    """A job to open; without ``lines`` the parts of the bench card are set aside."""

    model_config = ConfigDict(extra="forbid")

    machine: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    engine: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    job: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    lines: list[WantedPost] | None = Field(None, max_length=200)
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)


class MachineJobChange(BaseModel):
    """What happens to a job: pieces of a line used or freed, or the whole job closed or cancelled.

    ``used_all`` uses whatever still waits and closes the job; closing alone frees what waits.
    """

    model_config = ConfigDict(extra="forbid")

    action: Literal["use", "free", "used_all", "closed", "cancelled"]
    line: int | None = Field(None, strict=True, ge=1, le=2**53)
    quantity: int = Field(1, strict=True, ge=1, le=1_000_000)


def open_job(session: Session, post: MachineJobPost, *, made_by: str | None, now: datetime) -> dict[str, Any]:
    """Open a job and set its parts aside; the answer says which lines are short."""
    engine = get_engine(session, post.engine) if post.engine else None
    job = get_job(session, post.job) if post.job else None
    if post.lines is None:
        if engine is None or job is None:
            message = "A job without parts needs an engine and a job, so that the bench card names the parts."
            raise BadInput(message, field="lines")
        wanted = _list_card_parts(session, engine.engine, job.job)
    else:
        wanted = [
            WantedPart(get_part(session, line.maker, line.part_number).id, line.quantity)
            for line in post.lines
        ]
    new = NewMachineJob(
        post.machine,
        get_location(session, post.location).id,
        job.id if job else None,
        engine.id if engine else None,
    )
    opened = add_machine_job(session, new, wanted, entry=Entry(now, made_by, post.note))
    short = {line.id: line.short for line in opened.lines}
    shaped = shape_machine_job(get_machine_job(session, opened.id))
    return {**shaped, "lines": [{**line, "short": short[line["line"]]} for line in shaped["lines"]]}


def change_job(
    session: Session, post: MachineJobChange, *, job: int, made_by: str | None, now: datetime
) -> dict[str, Any]:
    """Use or free pieces of a line, or end a job; all of it or nothing."""
    view = get_machine_job(session, job)
    entry = Entry(now, made_by, f"job {view.id}, {view.machine}")
    if post.action == "used_all":
        for line in view.lines:
            if line.waiting:
                change_set_aside_to_used(session, line.id, line.waiting, entry)
        change_machine_job_state(session, job, "closed", entry=entry)
    elif post.action in ("closed", "cancelled"):
        change_machine_job_state(session, job, post.action, entry=entry)
    else:
        line_id = post.line
        if line_id is None or line_id not in {line.id for line in view.lines}:
            raise NotFound(f"Job '{view.id}' has no line '{post.line}'; the job shows its lines.")
        if post.action == "use":
            change_set_aside_to_used(session, line_id, post.quantity, entry)
        else:
            change_set_aside_to_freed(session, line_id, post.quantity)
    return shape_machine_job(get_machine_job(session, job))


def shape_machine_job(view: MachineJobView) -> dict[str, Any]:
    """A job as data."""
    return {
        "job": view.id,
        "machine": view.machine,
        "template": view.job,
        "engine": view.engine,
        "location": view.location,
        "state": view.state,
        "note": view.note,
        "made_by": view.made_by,
        "made_at": view.made_at_utc.isoformat(),
        "lines": [
            {
                "line": line.id,
                "maker": line.maker,
                "part_number": line.part_number,
                "position": line.position,
                "quantity": line.quantity,
                "used": line.used,
                "freed": line.freed,
                "waiting": line.waiting,
                "on_hand": line.on_hand,
            }
            for line in view.lines
        ],
    }


def _list_card_parts(session: Session, engine: str, job: str) -> list[WantedPart]:
    """The first choice for each position of the card; positions that nothing is known for are left out."""
    return [
        WantedPart(
            get_part(session, item.part.maker, item.part.part_number).id,
            1 if item.part.part_type in SETS else max(item.needed, 1),
            str(item.position),
        )
        for item in build_card(session, engine, job).parts
        if item.part is not None
    ]
