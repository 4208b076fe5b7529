"""Look-up of parts, engines and vehicles in any wording."""

from typing import Annotated, Any

from fastapi import APIRouter, Query

from api.answers.find import FindAnswerShape
from api.answers.problem import READ_PROBLEMS
from api.dependencies import MAX_PAGE, Reader
from kb.lookups.search.find import find_matches

router = APIRouter(prefix="/api", tags=["find"], responses=READ_PROBLEMS)


@router.get("/find", response_model=FindAnswerShape)
def get_find(
    session: Reader,
    q: Annotated[str, Query(description="Anything typed, pasted or scanned.")] = "",
    limit: Annotated[int, Query(ge=1, le=MAX_PAGE)] = 10,
) -> dict[str, Any]:
    """Parts and engines that a text describes, best first; never an error, whatever the text."""
    return find_matches(session, q, limit).as_json()
