"""The shelf on pages: search, one part with its ledger and plot, what is low, what it is worth."""

import secrets
from datetime import UTC, date, datetime
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form, Query, Request
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.stock import hide_line_costs, shape_line, shape_low_stock
from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, PathText, Reader, Writer
from api.drawings.picture import Picture
from api.drawings.stock_plot import StockMonths, draw_stock_plot
from api.once import post_once
from api.pages.stock_figures import explain_line
from api.pages.templates import render
from api.postings import MoveKind, MovePost, book
from kb.errors import Conflict
from kb.lookups.locations import list_locations
from kb.lookups.low_stock import JudgedGroup, LowStockQuestion, judge_part, list_low_stock
from kb.lookups.parts import get_part
from kb.lookups.shelf import has_hidden_costs
from kb.lookups.stock import (
    compute_stock_value,
    list_month_figures,
    list_movements,
    list_stock,
    search_shelf,
)

router = APIRouter(prefix="/stock", include_in_schema=False)

SHOWN_LINES = 25
SHOWN_ROWS = 60
SHOWN_MOVEMENTS = 60


class MoveForm(BaseModel):
    """The form that books a movement."""

    key: str = Field(min_length=1, max_length=255)
    kind: MoveKind
    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(ge=0, le=1_000_000)
    to_location: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    snapshot: str = Field("", max_length=200, pattern=NO_NUL)
    note: str = Field("", max_length=500, pattern=NO_NUL)


@router.get("")
def show_shelf(
    session: Reader, q: OptionalText = None, location: OptionalText = None, after: OptionalText = None
) -> Response:
    """Stocked articles, found by letters of maker, number or type."""
    mark = int(after) if after and after.isdecimal() else 0
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
    answer = shape_low_stock(list_low_stock(session, LowStockQuestion(day, location or None)))
    if has_hidden_costs(session):
        answer = hide_line_costs(answer)
    order = [line for line in answer["lines"] if line["list"] == "order"]
    groups = {
        "order": ("To order", [line for line in order if not line["needs_person"]]),
        "decide": ("Decide by hand", [line for line in order if line["needs_person"]]),
        "chase": ("Ask the supplier", [line for line in answer["lines"] if line["list"] == "chase"]),
    }
    chosen = {name: value for name, value in groups.items() if group in (None, "", name)}
    return render(
        "low_stock.html",
        answer=answer,
        locations=list_locations(session),
        listed=[_cut_page(name, *value, page=page if group else 1) for name, value in chosen.items()],
        group=group,
        explain=explain_line,
    )


def _cut_page(name: str, title: str, lines: list[dict[str, Any]], *, page: int) -> dict[str, Any]:
    """One list as the page shows it: some of its lines, and where it goes on."""
    start = (page - 1) * SHOWN_LINES
    return {
        "name": name,
        "title": title,
        "count": len(lines),
        "lines": lines[start : start + SHOWN_LINES],
        "first": start + 1,
        "before": page - 1 if page > 1 else None,
        "after": page + 1 if start + SHOWN_LINES < len(lines) else None,
    }


@router.get("/{maker}/{part_number:path}")
def show_part_stock(session: Reader, maker: PathText, part_number: PathText) -> Response:
    """One part: pieces by place, figures, plot, ledger, and the form that books a movement."""
    part = get_part(session, maker, part_number)
    judged = judge_part(session, part.id, LowStockQuestion(date.today()))  # noqa: DTZ011
    line = shape_line(judged)
    places = list_stock(session, part.id)
    return render(
        "part_stock.html",
        part=part.ref,
        line=line,
        figures=explain_line(line),
        places=places,
        snapshot=" ".join(f"{place.location}={place.snapshot}" for place in places if place.snapshot),
        locations=list_locations(session),
        picture=_draw(session, part.id, judged),
        movements=list_movements(session, part.id, limit=SHOWN_MOVEMENTS),
        key=secrets.token_urlsafe(16),
        kinds=list(MoveKind),
    )


@router.post("/{maker}/{part_number:path}")
def post_movement(
    request: Request,
    session: Writer,
    maker: PathText,
    part_number: PathText,
    form: Annotated[MoveForm, Form()],
) -> Response:
    """Book a movement and show the part again."""
    post = MovePost(
        kind=form.kind,
        location=form.location,
        maker=maker,
        part_number=part_number,
        quantity=form.quantity,
        to_location=form.to_location or None,
        snapshot=_find_snapshot(form) if form.kind is MoveKind.COUNT else None,
        note=form.note.strip() or None,
    )
    caller = getattr(request.state, "caller", "") or None
    answer = post_once(
        request,
        session,
        form.key,
        post=post,
        work=lambda: book(session, post, made_by=caller, now=datetime.now(UTC)),
    )
    need_done(answer)
    return RedirectResponse(f"/stock/{quote(maker, safe='')}/{quote(part_number)}", status_code=303)


def need_done(answer: Response) -> None:
    """Turn a posting that was refused into the error that the page shows.

    Raises:
        Conflict: with the sentence of the answer.
    """
    if answer.status_code >= 400:
        import json  # noqa: PLC0415

        raise Conflict(str(json.loads(bytes(answer.body))["detail"]))


def _find_snapshot(form: MoveForm) -> int | None:
    """The line of the ledger that the page showed for the place that was counted."""
    for shown in form.snapshot.split(" "):
        location, _, number = shown.rpartition("=")
        if location == form.location and number.isdecimal():
            return int(number)
    return None


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _draw(session: Session, part_id: int, judged: JudgedGroup) -> Picture | None:
    figures = list_month_figures(session, part_id, date.today())  # noqa: DTZ011
    months = StockMonths(
        [figure.name for figure in figures],
        [figure.asked for figure in figures],
        [figure.on_hand for figure in figures],
        judged.line.target.reorder_point if not judged.line.pooled_with else None,
    )
    return draw_stock_plot(months, title="Stock and demand of the last two years")
