"""Engines: the list, everything recorded of one, and what else would do at a position."""

import base64
import binascii
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field

from api.answers.engines import EngineListAnswer, EngineSheetAnswer, shape_engine, shape_engine_sheet
from api.answers.fit import AlternativesAnswer
from api.answers.problem import READ_PROBLEMS
from api.answers.shape import shape_caution
from api.dependencies import MAX_PAGE, MAX_TEXT, NO_NUL, AskedText, PathText, Reader
from kb.errors import BadInput
from kb.lookups.alternatives import list_alternatives
from kb.lookups.engine_sheet import describe_engine
from kb.lookups.engines import list_engines
from kb.lookups.search.worth_a_look import list_worth_a_look
from kb.rules.fit.shape import shape_alternative
from kb.rules.tools.cautions import cautions_for_position, rank_cautions

router = APIRouter(prefix="/api/engines", tags=["engines"], responses=READ_PROBLEMS)


class EnginePage(BaseModel):
    """Which engines to list."""

    q: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL, description="Letters of code or name.")
    limit: int = Field(50, ge=1, le=MAX_PAGE)
    after: str | None = Field(
        None, max_length=MAX_TEXT, pattern=NO_NUL, description="Mark of the page before."
    )


@router.get("", response_model=EngineListAnswer)
def get_engines(
    request: Request,
    response: Response,
    session: Reader,
    page: Annotated[EnginePage, Query()],
) -> dict[str, Any]:
    """Engines in order of their code, a page at a time; the next page is in ``Link`` and ``after``."""
    engines, has_more = list_engines(
        session, text=page.q or "", after=open_mark(page.after), limit=page.limit
    )
    mark = seal_mark(engines[-1].engine) if has_more else None
    if mark is not None:
        following = request.url.include_query_params(after=mark)
        response.headers["Link"] = f'<{following.path}?{following.query}>; rel="next"'
    return {"engines": [shape_engine(engine) for engine in engines], "after": mark}


@router.get("/{engine}", response_model=EngineSheetAnswer)
def get_engine_sheet(session: Reader, engine: PathText) -> dict[str, Any]:
    """Everything recorded of one engine: needs, limits of wear, fasteners, pulleys, vehicles."""
    return shape_engine_sheet(describe_engine(session, engine))


@router.get("/{engine}/alternatives", response_model=AlternativesAnswer)
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


def seal_mark(code: str) -> str:
    """The opaque mark of a place in a list.

    Example:
        >>> open_mark(seal_mark("plover-50-s"))
        'plover-50-s'
    """
    return base64.urlsafe_b64encode(code.encode()).decode().rstrip("=")


def open_mark(mark: str | None) -> str:
    """The place in a list that a mark stands for; the beginning without one.

    Raises:
        BadInput: the mark was not given out by this service.
    """
    if not mark:
        return ""
    try:
        code = base64.b64decode(mark + "=" * (-len(mark) % 4), altchars=b"-_", validate=True).decode()
    except (binascii.Error, ValueError) as error:
        raise BadInput(_explain_mark(mark), field="after") from error
    if seal_mark(code) != mark or "\x00" in code:
        raise BadInput(_explain_mark(mark), field="after")
    return code


def _explain_mark(mark: str) -> str:
    return f"Mark '{mark[:60]}' in 'after' was not given out by this service; take it from the page before."
