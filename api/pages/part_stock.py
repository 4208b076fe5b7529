"""One part on the shelf: its figures, plot and ledger, and the form that books a movement."""

import secrets
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.stock import hide_costs_of_line, shape_line
from api.dependencies import (
    MAX_TEXT,
    NO_NUL,
    MakerInPath,
    OptionalText,
    PartNumberInPath,
    Reader,
    name_caller,
)
from api.drawings.picture import Picture
from api.drawings.stock_plot import StockMonths, draw_stock_plot
from api.once import FormOnce
from api.pages.stock_figures import explain_line
from api.pages.templates import render
from api.postings import MoveKind, MovePost, book
from api.problems import Problem, describe_error
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.judgement import list_demand_days, list_left_out, list_levels_by_hand
from kb.lookups.locations import find_main_location, get_location, list_locations
from kb.lookups.low_stock import JudgedGroup, LowStockQuestion, judge_part
from kb.lookups.parts import StoredPart, get_part
from kb.lookups.shelf import has_hidden_costs
from kb.lookups.stock import list_month_figures, list_movements, list_stock

router = APIRouter(prefix="/stock", include_in_schema=False)

SHOWN_MOVEMENTS = 60
SHOWN_DAYS = 40
DAYS_BACK = 731


class MoveForm(BaseModel):
    """The form that books a movement."""

    key: str = Field(min_length=1, max_length=255)
    kind: MoveKind
    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(ge=0, le=1_000_000)
    to_location: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    snapshot: str = Field("", max_length=2_000, pattern=NO_NUL)
    note: str = Field("", max_length=500, pattern=NO_NUL)
    shelf: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)


@dataclass(frozen=True, slots=True)
class PartPage:
    """Which part is shown, for which shelf (empty = all places as one), and what was refused."""

    part: StoredPart
    shelf: str = ""
    problem: Problem | None = None
    move: MoveForm | None = None


def address_part(maker: str, part_number: str, *, shelf: str = "", anchor: str = "") -> str:
    """Address of a part's page."""
    query = f"?shelf={quote(shelf)}" if shelf else ""
    return f"/stock/{quote(maker, safe='')}/{quote(part_number)}{query}{anchor}"


@router.get("/{maker}/{part_number:path}")
def show_part_stock(
    request: Request,
    session: Reader,
    maker: MakerInPath,
    part_number: PartNumberInPath,
    shelf: OptionalText = None,
) -> Response:
    """One part: pieces by place, figures, plot, ledger, and the forms; ``shelf`` is one place, else all."""
    return render_part(request, session, PartPage(get_part(session, maker, part_number), shelf or ""))


@router.post("/{maker}/{part_number:path}")
def post_movement(
    once: FormOnce,
    request: Request,
    maker: MakerInPath,
    part_number: PartNumberInPath,
    form: Annotated[MoveForm, Form()],
) -> Response:
    """Book a movement and show the part again; what is refused is said on the page."""
    part = get_part(once.session, maker, part_number)
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
    try:
        once.do(form.key, post, book)
    except (BadInput, Conflict, NotFound) as error:
        page = PartPage(part, form.shelf, describe_error(error), form)
        return render_part(request, once.session, page)
    return RedirectResponse(address_part(maker, part_number, shelf=form.shelf), status_code=303)


def render_part(request: Request, session: Session, page: PartPage) -> Response:
    """The part's page, with what was refused at its top."""
    part, today = page.part, date.today()  # noqa: DTZ011 - the shop's own day
    judged = judge_part(session, part.id, LowStockQuestion(today, page.shelf or None))
    line = shape_line(judged)
    places = list_stock(session, part.id)
    levels = list_levels_by_hand(session, part.id)
    level_here = next((level for level in levels if (level.location or "") == page.shelf), None)
    return render(
        "part_stock.html",
        status=page.problem.code if page.problem else 200,
        part=part.ref,
        page_of=page,
        line=hide_costs_of_line(line) if has_hidden_costs(session) else line,
        together=[name for name in line["pooled_with"] if name != f"{part.ref.maker} {part.ref.part_number}"],
        figures=explain_line(line, level_here),
        places=places,
        snapshot=" ".join(f"{place.location}={place.snapshot}" for place in places if place.snapshot),
        locations=list_locations(session),
        main=page.shelf or find_main_location(session),
        levels=levels,
        days=list_demand_days(session, part.id, since=today - timedelta(days=DAYS_BACK), limit=SHOWN_DAYS),
        left_out=list_left_out(session, part.id),
        picture=_draw(session, page, judged),
        movements=list_movements(session, part.id, limit=SHOWN_MOVEMENTS),
        known_name=name_caller(request),
        key=secrets.token_urlsafe(16),
        kinds=list(MoveKind),
    )


def _find_snapshot(form: MoveForm) -> int | None:
    """The line of the ledger that the page showed for the place that was counted."""
    for shown in form.snapshot.split(" "):
        location, _, number = shown.rpartition("=")
        if location == form.location and number.isdecimal():
            return int(number)
    return None


def _draw(session: Session, page: PartPage, judged: JudgedGroup) -> Picture | None:
    """The plot of all parts that are counted as one, at the shelf that is looked at."""
    together = {page.part.id, *(get_part(session, *names).id for names in judged.line.pooled_with)}
    place = get_location(session, page.shelf) if page.shelf else None
    figures = list_month_figures(
        session,
        together,
        date.today(),  # noqa: DTZ011
        location_id=place.id if place else None,
    )
    months = StockMonths(
        [figure.name for figure in figures],
        [figure.asked for figure in figures],
        [figure.on_hand for figure in figures],
        judged.line.target.reorder_point,
    )
    where = place.location if place else "all places"
    return draw_stock_plot(months, title=f"Stock and demand of the last two years, {where}")
