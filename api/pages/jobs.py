"""Jobs on machines as pages: what is set aside, using it, freeing it."""

import secrets
from datetime import UTC, datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Path, Request
from pydantic import BaseModel, Field
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, Reader, Writer
from api.job_keeping import MachineJobChange, MachineJobPost, change_job, open_job, shape_machine_job
from api.once import post_once
from api.pages.stock import need_done
from api.pages.templates import render
from kb.lookups.jobs import list_jobs
from kb.lookups.locations import list_locations
from kb.lookups.machine_jobs import list_machine_jobs

router = APIRouter(prefix="/jobs", include_in_schema=False)

Text = Annotated[str, Field(max_length=MAX_TEXT, pattern=NO_NUL)]


class JobForm(BaseModel):
    """A job to open from a bench card."""

    key: str = Field(min_length=1, max_length=255)
    machine: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    location: Text
    engine: Text
    job: Text


class ChangeForm(BaseModel):
    """What happens to a job."""

    key: str = Field(min_length=1, max_length=255)
    action: Literal["use", "free", "closed", "cancelled"]
    line: int | None = None
    quantity: int = Field(1, ge=1, le=1_000_000)


@router.get("")
def show_jobs(session: Reader, engine: OptionalText = None, job: OptionalText = None) -> Response:
    """Open jobs, and the form that sets the parts of a bench card aside."""
    return render(
        "jobs.html",
        jobs=[shape_machine_job(view) for view in list_machine_jobs(session)],
        templates=list_jobs(session),
        locations=list_locations(session),
        engine=engine or "",
        job=job or "",
        key=secrets.token_urlsafe(16),
    )


@router.post("")
def post_job(request: Request, session: Writer, form: Annotated[JobForm, Form()]) -> Response:
    """Open a job and set the parts of its bench card aside."""
    post = MachineJobPost(
        machine=form.machine, location=form.location, engine=form.engine, job=form.job, lines=None
    )
    caller = getattr(request.state, "caller", "") or None
    answer = post_once(
        request,
        session,
        form.key,
        post=form,
        work=lambda: open_job(session, post, made_by=caller, now=datetime.now(UTC)),
    )
    need_done(answer)
    return RedirectResponse("/jobs", status_code=303)


@router.post("/{job}")
def post_change(
    request: Request,
    session: Writer,
    job: Annotated[int, Path(ge=1, le=2**53)],
    form: Annotated[ChangeForm, Form()],
) -> Response:
    """Use or free pieces, close or cancel the job."""
    post = MachineJobChange(action=form.action, line=form.line, quantity=form.quantity)
    caller = getattr(request.state, "caller", "") or None
    answer = post_once(
        request,
        session,
        form.key,
        post=form,
        work=lambda: change_job(session, job, post, made_by=caller, now=datetime.now(UTC)),
    )
    need_done(answer)
    return RedirectResponse("/jobs", status_code=303)
