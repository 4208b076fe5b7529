"""The list of engines, and the sheet of one: everything recorded, each value with its source."""

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.dependencies import MAX_TEXT, NO_NUL, PathText, Reader
from api.marks import open_mark, seal_mark
from api.pages.templates import render
from api.whole_names import WholeNameRoute
from kb.lookups.engine_sheet import describe_engine
from kb.lookups.engines import list_engines
from kb.rules.fit.shape import shape_need
from kb.rules.tools.cautions import GENERAL_CAUTION

router = APIRouter(prefix="/engines", include_in_schema=False, route_class=WholeNameRoute)

_ENGINES_PER_PAGE = 50

PageText = Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)]


@router.get("")
def show_engines(session: Reader, q: PageText = "", after: PageText = "") -> Response:
    """Engines, a page at a time."""
    engines, has_more = list_engines(session, text=q, after=open_mark(after), limit=_ENGINES_PER_PAGE)
    mark = seal_mark(engines[-1].engine) if has_more else None
    return render("engines.html", engines=engines, q=q, mark=mark)


@router.get("/{engine:path}")
def show_engine(session: Reader, engine: PathText) -> Response:
    """The sheet of one engine."""
    sheet = describe_engine(session, engine)
    needs = [
        (position, shape_need(need) or {}, need.source)
        for position, found in sheet.needs.items()
        for need in found
    ]
    return render("engine.html", sheet=sheet, needs=needs, general_caution=GENERAL_CAUTION)
