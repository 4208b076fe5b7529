"""What the rider says, and what to look at first, on a page."""

from fastapi import APIRouter
from starlette.responses import Response

from api.answers.trace import shape_trace
from api.dependencies import Reader
from api.pages.bench import PageText, ask, render_bench
from kb.lookups.trace import trace_symptom

router = APIRouter(include_in_schema=False)


@router.get("/trace")
def show_trace(session: Reader, text: PageText = "", engine: PageText = "") -> Response:
    """Likely causes in the order in which to look."""
    text, engine = text.strip(), engine.strip()
    answer, problem = None, None
    if text:
        answer, problem = ask(lambda: shape_trace(trace_symptom(session, text, engine_code=engine or None)))
    return render_bench("trace.html", session, problem=problem, answer=answer, text=text, engine=engine)
