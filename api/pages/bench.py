"""What the pages of the bench share: choices for forms, the sentence for an error, the start page."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Query
from sqlmodel import Session
from starlette.responses import Response

from api.dependencies import MAX_TEXT, NO_NUL, Reader
from api.pages.templates import render
from api.problems import Problem, describe_error
from kb.errors import KbError
from kb.lookups.engines import list_engines
from kb.lookups.jobs import list_jobs
from kb.terms import Position

router = APIRouter(include_in_schema=False)

PageText = Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)]
OFFERED_ENGINES = 200
# What is measured most, offered where nothing is known of the engine yet.
USUAL_QUANTITIES = (
    "top_width",
    "diameter",
    "mass",
    "free_length",
    "lining_thickness",
    "bore",
    "outside",
    "thickness",
    "length",
)


@dataclass(frozen=True, slots=True)
class BenchChoices:
    """What the forms of the bench offer."""

    engines: tuple[tuple[str, str], ...]
    jobs: tuple[tuple[str, str], ...]
    positions: tuple[str, ...]
    quantities: tuple[str, ...] = USUAL_QUANTITIES


def list_choices(session: Session) -> BenchChoices:
    """Engines (the first ones), jobs and positions for the forms."""
    engines, _ = list_engines(session, limit=OFFERED_ENGINES)
    return BenchChoices(
        engines=tuple((engine.engine, engine.name or "") for engine in engines),
        jobs=tuple((job.job, job.title or job.job) for job in list_jobs(session)),
        positions=tuple(str(position) for position in Position),
    )


def ask(question: Callable[[], dict[str, Any]]) -> tuple[dict[str, Any] | None, Problem | None]:
    """The answer, or what the person has to settle first."""
    try:
        return question(), None
    except KbError as error:
        return None, describe_error(error)


def mark_once(places: Sequence[tuple[str, list[dict[str, Any]]]]) -> None:
    """Give the first of each caution ``full``, and the others ``seen``: where it stands in full.

    Args:
        places: lists of cautions in the order of the page, each with the words that say where it stands.
    """
    first: dict[str, str] = {}
    for place, cautions in places:
        for caution in cautions:
            caution["full"] = caution["hazard"] not in first
            caution["seen"] = first.setdefault(caution["hazard"], place)


def render_bench(name: str, session: Session, *, problem: Problem | None, **values: Any) -> Response:
    """A page of the bench with its forms; the status is that of the problem."""
    status = problem.code if problem else 200
    return render(name, status=status, choices=list_choices(session), problem=problem, **values)


@router.get("/bench")
def show_bench(session: Reader, engine: PageText = "") -> Response:
    """Everything the bench can be asked, on one page."""
    return render_bench("bench.html", session, problem=None, engine=engine.strip())
