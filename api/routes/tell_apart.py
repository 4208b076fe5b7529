"""Which engine is it, and what to measure next?"""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from api.answers.problem import READ_PROBLEMS
from api.answers.tell_apart import TellApartAnswer, shape_tell_apart
from api.dependencies import NO_NUL, OptionalText, Reader
from kb.errors import BadInput
from kb.lookups.tell_apart import TellApartQuestion, tell_engines_apart

router = APIRouter(prefix="/api", tags=["bench"], responses=READ_PROBLEMS)

MOST_ENGINES = 200
NOT_FACTS = frozenset({"engine", "position", "skip"})


def list_facts(request: Request) -> tuple[tuple[str, str], ...]:
    """Every parameter of the address that is not one of the question's own.

    Raises:
        BadInput: a NUL character stands in one.
    """
    facts = tuple(pair for pair in request.query_params.multi_items() if pair[0] not in NOT_FACTS)
    if any("\x00" in text for pair in facts for text in pair):
        raise BadInput("A fact holds a NUL character; leave it out.", field="fact")
    return facts


@router.get("/tell-apart", response_model=TellApartAnswer)
def get_tell_apart(
    request: Request,
    session: Reader,
    engine: Annotated[
        list[Annotated[str, Query(min_length=1, max_length=200, pattern=NO_NUL)]],
        Query(max_length=MOST_ENGINES, description="Engines to tell apart, repeated; none: all."),
    ] = [],  # noqa: B006 - FastAPI copies it
    position: OptionalText = None,
) -> dict[str, Any]:
    """Engines that remain; every other parameter is a fact, ``quantity=value``."""
    question = TellApartQuestion(tuple(engine), list_facts(request), position or None)
    return shape_tell_apart(tell_engines_apart(session, question))
