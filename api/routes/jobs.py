"""Jobs on machines: parts set aside, used, freed."""

from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Path
from starlette.responses import Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.dependencies import OptionalText, PageLimit, PageMark, Reader
from api.job_keeping import MachineJobChange, MachineJobPost, change_job, open_job, shape_machine_job
from api.marks import Following, open_row_mark
from api.once import HeaderOnce
from kb.lookups.machine_jobs import get_machine_job, list_machine_jobs

router = APIRouter(prefix="/api/jobs", tags=["jobs"], responses=READ_PROBLEMS)

JobNumber = Annotated[int, Path(ge=1, le=2**53)]


@router.get("")
def get_jobs(
    following: Following,
    session: Reader,
    state: OptionalText = "open",
    limit: PageLimit = 50,
    after: PageMark = None,
) -> dict[str, Any]:
    """Jobs on machines, newest first, a page at a time; ``state`` empty = all."""
    found = list_machine_jobs(session, state=state or None, before=open_row_mark(after), limit=limit + 1)
    shown = found[:limit]
    mark = str(shown[-1].id) if len(found) > limit else None
    following.link(mark)
    return {"jobs": [shape_machine_job(view) for view in shown], "after": mark}


@router.post("", status_code=201, responses=WRITE_PROBLEMS)
def post_job(once: HeaderOnce, post: MachineJobPost) -> Response:
    """Open a job and set its parts aside, from the bench card or from a list."""
    return once(post, open_job)


@router.get("/{job}")
def get_job(session: Reader, job: JobNumber) -> dict[str, Any]:
    """One job with its lines."""
    return shape_machine_job(get_machine_job(session, job))


@router.post("/{job}", status_code=201, responses=WRITE_PROBLEMS)
def post_job_change(once: HeaderOnce, job: JobNumber, post: MachineJobChange) -> Response:
    """Use or free pieces of a line, close the job or cancel it; what still waits at its end is freed."""
    return once(post, partial(change_job, job=job))
