"""The shelf on pages: search, what it is worth, and what is low."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.answers.stock import hide_costs_of_line, shape_line
from api.dependencies import OptionalText, Reader
from api.marks import open_row_mark
from api.pages.stock_figures import explain_line
from api.pages.templates import render
from kb.lookups.locations import list_locations
from kb.lookups.low_stock import JudgedGroup, LowStockQuestion, list_low_stock
from kb.lookups.shelf import has_hidden_costs
from kb.lookups.stock import (
    compute_stock_value,
    search_shelf,
)

router = APIRouter(prefix="/stock", include_in_schema=False)

SHOWN_LINES = 25
SHOWN_ROWS = 60


@router.get("")
def show_shelf(
    session: Reader, q: OptionalText = None, location: OptionalText = None, after: OptionalText = None
) -> Response:
    """Stocked articles, found by letters of maker, number or type."""
    mark = open_row_mark(after) or 0
    rows = search_shelf(session, q or "", location=location or None, limit=SHOWN_ROWS + 1, after=mark)
    return render(
        "shelf.html",
        q=q or "",
        location=location or "",
        locations=list_locations(session),
        rows=rows[:SHOWN_ROWS],
        mark=rows[SHOWN_ROWS - 1].part_id if len(rows) > SHOWN_ROWS else None,
        value=None if has_hidden_costs(session) else compute_stock_value(session, location or None),
    )


@router.get("/low")
def show_low_stock(
    session: Reader,
    location: OptionalText = None,
    as_of: OptionalText = None,
    group: OptionalText = None,
    page: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> Response:
    """What to order and whom to ask; the first lines of each list, or one list page by page."""
    day = date.fromisoformat(as_of) if as_of and _is_day(as_of) else date.today()  # noqa: DTZ011
    answer = list_low_stock(session, LowStockQuestion(day, location or None))
    tried = [item for item in answer.order if not item.line.is_untried]
    groups = {
        "order": ("To order", [item for item in tried if not item.line.order.needs_person]),
        "decide": ("Decide by hand", [item for item in tried if item.line.order.needs_person]),
        "chase": ("Ask the supplier", answer.chase),
        "untried": ("Nobody asked for these yet", [item for item in answer.order if item.line.is_untried]),
    }
    chosen = {name: value for name, value in groups.items() if group in (None, "", name)}
    hides_costs = has_hidden_costs(session)
    return render(
        "low_stock.html",
        answer=answer,
        locations=list_locations(session),
        listed=[
            _cut_page(name, *value, page=page if group else 1, hides_costs=hides_costs)
            for name, value in chosen.items()
        ],
        group=group,
        explain=explain_line,
    )


def _cut_page(
    name: str, title: str, items: Sequence[JudgedGroup], *, page: int, hides_costs: bool
) -> dict[str, Any]:
    """One list as the page shows it: some of its lines, and where it goes on."""
    start = (page - 1) * SHOWN_LINES
    lines = [shape_line(item) for item in items[start : start + SHOWN_LINES]]
    return {
        "name": name,
        "title": title,
        "count": len(items),
        "lines": [hide_costs_of_line(line) for line in lines] if hides_costs else lines,
        "first": start + 1,
        "before": page - 1 if page > 1 else None,
        "after": page + 1 if start + SHOWN_LINES < len(items) else None,
    }


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
