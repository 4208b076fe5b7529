"""The backtest as a page: what the method would have held and served on the shop's own past."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.answers.backtest import shape_backtest
from api.backtests import MOST_PARTS, play_bounded
from api.dependencies import MAX_TEXT, NO_NUL, Reader
from api.drawings.backtest_plot import draw_played
from api.pages.templates import render
from api.problems import Problem, describe_error
from kb.errors import BadInput, NotFound
from kb.lookups.locations import list_locations
from kb.lookups.low_stock import LowStockQuestion
from kb.lookups.shelf import has_hidden_costs
from kb.lookups.supplier_offers import find_shop_currency

router = APIRouter(prefix="/stock", include_in_schema=False)

DEFAULT_PERCENT = 95.0


@router.get("/backtest")
def show_backtest(
    session: Reader,
    *,
    location: Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)] = "",
    service: Annotated[float, Query(ge=50, le=99.9)] = DEFAULT_PERCENT,
    lead: Annotated[str, Query(max_length=2, pattern="^([0-9]|1[0-2])?$")] = "",
    play: bool = False,
) -> Response:
    """The form; with ``play`` also what came of it. ``service`` is in %, ``lead`` in months."""
    answer: dict[str, Any] | None = None
    problem: Problem | None = None
    if play:
        question = LowStockQuestion(date.today(), location or None, service=service / 100)  # noqa: DTZ011
        try:
            played = play_bounded(session, question, lead_months=int(lead) if lead else None)
            answer = shape_backtest(played)
        except (BadInput, NotFound) as error:
            problem = describe_error(error)
    is_drawn = answer is not None and any(rule["fill_rate"] is not None for rule in answer["rules"])
    return render(
        "backtest.html",
        status=problem.code if problem else 200,
        answer=answer,
        problem=problem,
        picture=draw_played(answer) if answer and is_drawn else None,
        locations=list_locations(session),
        location=location,
        service=service,
        lead=lead,
        most_parts=MOST_PARTS,
        currency=None if has_hidden_costs(session) else find_shop_currency(session),
        shows_worth=not has_hidden_costs(session),
    )
