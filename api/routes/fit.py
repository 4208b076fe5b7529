"""Does this part fit this engine?"""

from typing import Any

from fastapi import APIRouter

from api.answers.fit import VerdictAnswer, shape_fit
from api.answers.problem import READ_PROBLEMS
from api.dependencies import AskedText, OptionalText, Reader
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.lookups.search.worth_a_look import list_worth_a_look_beside

router = APIRouter(prefix="/api", tags=["fit"], responses=READ_PROBLEMS)


@router.get("/fit", response_model=VerdictAnswer)
def get_fit(
    session: Reader, engine: AskedText, asked: AskedText, position: OptionalText = None
) -> dict[str, Any]:
    """Verdict on a part or a size for an engine, with reasons, evidence and alternatives."""
    verdict = does_part_fit(session, FitQuestion(engine, asked, position or None))
    return shape_fit(verdict, list_worth_a_look_beside(session, verdict))
