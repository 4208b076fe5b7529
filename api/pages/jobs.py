"""Jobs on machines as pages: what is set aside, using it, freeing it."""

import secrets
from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Path
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, Reader, Writer
from api.job_keeping import MachineJobChange, MachineJobPost, change_job, open_job, shape_machine_job
from api.once import FormOnce
from api.pages.templates import render
from api.problems import Problem, describe_error
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.engines import list_engines
from kb.lookups.jobs import list_jobs
from kb.lookups.locations import find_main_location, list_locations
from kb.lookups.machine_jobs import list_ended_jobs, list_machine_jobs

router = APIRouter(prefix="/jobs", include_in_schema=False)

SHOWN_ENDED = 20
OFFERED_ENGINES = 200
Text = Annotated[str, Field(max_length=MAX_TEXT, pattern=NO_NUL)]


class JobForm(BaseModel):
    """A job to open from a bench card."""

    key: str = Field(min_length=1, max_length=255)
    machine: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    location: Text = ""
    engine: Text = ""
    job: Text = ""


class ChangeForm(BaseModel):
    """What happens to a job."""

    key: str = Field(min_length=1, max_length=255)
    action: Literal["use", "free", "used_all", "closed", "cancelled"]
    line: int | None = None
    quantity: int = Field(1, ge=1, le=1_000_000)


@router.get("")
def show_jobs(
    session: Reader, engine: OptionalText = None, job: OptionalText = None, location: OptionalText = None
) -> Response:
    """Open jobs, and the form that sets the parts of a bench card aside."""
    asked = JobForm(key="-", machine="-", location=location or "", engine=engine or "", job=job or "")
    return _render(session, asked, machine="")


@router.post("")
def post_job(once: FormOnce, session: Writer, form: Annotated[JobForm, Form()]) -> Response:
    """Open a job and set the parts of its bench card aside; what is refused is said above the form."""
    post = MachineJobPost(
        machine=form.machine,
        location=form.location,
        engine=form.engine or None,
        job=form.job or None,
        lines=None,
    )
    try:
        opened = once.do(form.key, post, open_job)
    except (BadInput, Conflict, NotFound) as error:
        return _render(session, form, machine=form.machine, problem=describe_error(error))
    return RedirectResponse(f"/jobs#job-{opened['job']}", status_code=303)


@router.post("/{job}")
def post_change(
    once: FormOnce,
    session: Writer,
    job: Annotated[int, Path(ge=1, le=2**53)],
    form: Annotated[ChangeForm, Form()],
) -> Response:
    """Use or free pieces, close or cancel the job; what is refused is said above."""
    post = MachineJobChange(action=form.action, line=form.line, quantity=form.quantity)
    try:
        once.do(form.key, post, partial(change_job, job=job))
    except (BadInput, Conflict, NotFound) as error:
        return _render(session, JobForm(key="-", machine="-"), machine="", problem=describe_error(error))
    return RedirectResponse(f"/jobs#job-{job}", status_code=303)


def _render(session: Session, form: JobForm, *, machine: str, problem: Problem | None = None) -> Response:
    templates = list_jobs(session)
    return render(
        "jobs.html",
        status=problem.code if problem else 200,
        jobs=[shape_machine_job(view) for view in list_machine_jobs(session)],
        ended=[shape_machine_job(view) for view in list_ended_jobs(session, limit=SHOWN_ENDED)],
        templates=templates,
        engines=[(item.engine, item.name or "") for item in list_engines(session, limit=OFFERED_ENGINES)[0]],
        titles={item.job: item.title or item.job for item in templates},
        locations=list_locations(session),
        machine=machine,
        engine=form.engine,
        job=form.job,
        location=form.location or find_main_location(session),
        problem=problem,
        key=secrets.token_urlsafe(16),
    )
