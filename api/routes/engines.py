"""Engines: the list, everything recorded of one, and what else would do at a position."""

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from api.answers.engines import EngineListAnswer, EngineSheetAnswer, shape_engine, shape_engine_sheet
from api.answers.fit import AlternativesAnswer
from api.answers.problem import READ_PROBLEMS
from api.answers.shape import shape_caution
from api.dependencies import MAX_PAGE, MAX_TEXT, NO_NUL, AskedText, PathText, Reader
from api.marks import LONGEST_MARK, Following, open_mark, seal_mark
from api.whole_names import WholeNameRoute
from kb.lookups.alternatives import list_alternatives
from kb.lookups.engine_sheet import describe_engine
from kb.lookups.engines import list_engines
from kb.lookups.search.worth_a_look import list_worth_a_look
from kb.rules.fit.shape import shape_alternative
from kb.rules.tools.cautions import cautions_for_position, rank_cautions

router = APIRouter(
    prefix="/api/engines", tags=["engines"], responses=READ_PROBLEMS, route_class=WholeNameRoute
)


class EnginePage(BaseModel):
    """Which engines to list."""

    q: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL, description="Letters of code or name.")
    limit: int = Field(50, ge=1, le=MAX_PAGE)
    after: str | None = Field(
        None, max_length=LONGEST_MARK, pattern=NO_NUL, description="Mark of the page before."
    )


@router.get("", response_model=EngineListAnswer)
def get_engines(
    following: Following,
    session: Reader,
    page: Annotated[EnginePage, Query()],
) -> dict[str, Any]:
    """Engines in order of their code, a page at a time; the next page is in ``Link`` and ``after``."""
    engines, has_more = list_engines(
        session, text=page.q or "", after=open_mark(page.after), limit=page.limit
    )
    mark = seal_mark(engines[-1].engine) if has_more else None
    following.link(mark)
    return {"engines": [shape_engine(engine) for engine in engines], "after": mark}


@router.get("/{engine:path}/alternatives", response_model=AlternativesAnswer)
def get_alternatives(session: Reader, engine: PathText, position: AskedText) -> dict[str, Any]:
    """Parts that would do at a position, best first."""
    answer = list_alternatives(session, engine, position)
    cautions = rank_cautions(cautions_for_position(answer.position))
    return {
        "engine": answer.engine,
        "position": str(answer.position),
        "alternatives": [shape_alternative(item) for item in answer.alternatives],
        "worth_a_look": [item.as_json() for item in list_worth_a_look(session, engine, position)],
        "hazards": [shape_caution(caution) for caution in cautions],
    }


@router.get("/{engine:path}", response_model=EngineSheetAnswer)
def get_engine_sheet(session: Reader, engine: PathText) -> dict[str, Any]:
    """Everything recorded of one engine: needs, limits of wear, fasteners, pulleys, vehicles."""
    return shape_engine_sheet(describe_engine(session, engine))
