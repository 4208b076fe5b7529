"""What the rider says, and what to look at first, on a page."""

from typing import Any

from fastapi import APIRouter
from sqlmodel import Session
from starlette.responses import Response

from api.answers.shape import shape_caution
from api.answers.trace import shape_trace
from api.dependencies import Reader
from api.pages.bench import PageText, ask, mark_once, render_bench
from kb.lookups.trace import list_symptoms, trace_symptom
from kb.rules.tools.cautions import cautions_for_job

router = APIRouter(include_in_schema=False)


@router.get("/trace")
def show_trace(session: Reader, text: PageText = "", engine: PageText = "") -> Response:
    """Likely causes in the order in which to look."""
    text, engine = text.strip(), engine.strip()
    answer, problem = None, None
    if text:
        answer, problem = ask(lambda: _answer(session, text, engine))
    titles = () if text else tuple(symptom.title for symptom in list_symptoms(session))
    said = {"answer": answer, "text": text, "engine": engine, "titles": titles}
    return render_bench("trace.html", session, problem=problem, **said)


def _answer(session: Session, text: str, engine: str) -> dict[str, Any]:
    """The answer with the cautions of the whole job on top, and at each cause those of its position."""
    answer = shape_trace(trace_symptom(session, text, engine_code=engine or None))
    answer["hazards"] = [shape_caution(caution) for caution in cautions_for_job()]
    common = {caution["hazard"] for caution in answer["hazards"]}
    for cause in answer["causes"]:
        cause["hazards"] = [caution for caution in cause["hazards"] if caution["hazard"] not in common]
    mark_once([(f"at {cause['order']}", cause["hazards"]) for cause in answer["causes"]])
    return answer
