"""The bench card of one engine and one job, and the jobs there are."""

from typing import Any

from fastapi import APIRouter

from api.answers.card import CardAnswer, shape_card
from api.answers.problem import READ_PROBLEMS
from api.answers.shape import Answer
from api.dependencies import MAX_PAGE, AskedText, PageLimit, PageMark, PathText, Reader
from api.marks import Following, open_mark, seal_mark
from api.whole_names import WholeNameRoute
from kb.lookups.card import build_card
from kb.lookups.jobs import list_jobs

router = APIRouter(prefix="/api", tags=["bench"], responses=READ_PROBLEMS, route_class=WholeNameRoute)


class JobAnswer(Answer):
    """A job that cards can be asked for."""

    job: str
    title: str | None
    note: str | None


class JobListAnswer(Answer):
    """Jobs by name, and the mark of the next page."""

    jobs: list[JobAnswer]
    after: str | None = None


@router.get("/engines/{engine:path}/card", response_model=CardAnswer)
def get_card(session: Reader, engine: PathText, job: AskedText) -> dict[str, Any]:
    """Fasteners, tools, parts, limits and steps for a job, and what is missing for it."""
    return shape_card(build_card(session, engine, job))


@router.get("/job-sheets", response_model=JobListAnswer)
def get_job_sheets(
    following: Following, session: Reader, limit: PageLimit = MAX_PAGE, after: PageMark = None
) -> dict[str, Any]:
    """The jobs that cards can be asked for, a page at a time."""
    found = list_jobs(session, after=open_mark(after), limit=limit + 1)
    shown = found[:limit]
    mark = seal_mark(shown[-1].job) if len(found) > limit else None
    following.link(mark)
    return {
        "jobs": [{"job": job.job, "title": job.title, "note": job.note} for job in shown],
        "after": mark,
    }
