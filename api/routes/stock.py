"""Stock: what lies where, what is low, and booking movements."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, Field
from starlette.responses import Response

from api.answers.backtest import hide_worth, shape_backtest
from api.answers.judgement import shape_demand_day, shape_left_out, shape_level_by_hand
from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.stock import (
    LowStockAnswerShape,
    hide_line_costs,
    shape_low_stock,
    shape_movement,
    shape_place,
    shape_shelf_row,
)
from api.backtests import play_bounded
from api.decisions import ExclusionPost, LevelPost, decide_level, exclude_demand
from api.dependencies import MAX_PAGE, MAX_TEXT, NO_NUL, OptionalText, PageLimit, PageMark, Reader, Writer
from api.marks import (
    LONGEST_MARK,
    Following,
    find_line_place,
    open_day_mark,
    open_row_mark,
    seal_day_mark,
    seal_line_mark,
)
from api.once import HeaderOnce
from api.postings import MovePost, book
from api.receiving import ReceiptPost, receive
from kb.edits.judgement import remove_excluded_demand
from kb.lookups.judgement import list_demand_days, list_left_out, list_levels_page
from kb.lookups.low_stock import LowStockQuestion, list_low_stock
from kb.lookups.parts import get_part
from kb.lookups.shelf import has_hidden_costs
from kb.lookups.stock import compute_stock_value, find_asked_parts, list_movements, list_stock, search_shelf
from kb.lookups.stocked_parts import ShelfScope, read_open_orders

router = APIRouter(prefix="/api/stock", tags=["stock"], responses=READ_PROBLEMS)


class ShelfPage(BaseModel):
    """Which part, or which page of all stocked articles."""

    part: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL, description="A part, by any name.")
    location: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    limit: int = Field(50, ge=1, le=MAX_PAGE)
    after: str | None = Field(
        None, max_length=MAX_TEXT, pattern=NO_NUL, description="Mark of the page before."
    )


class LowStockPage(BaseModel):
    """Which shelf, on which day, and which lines of the list."""

    location: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    as_of: date | None = None
    limit: int | None = Field(None, ge=1, le=MAX_PAGE, description="Lines of a page; without it all come.")
    after: str | None = Field(
        None, max_length=LONGEST_MARK, pattern=NO_NUL, description="Mark of the page before."
    )


class LedgerPage(BaseModel):
    """Which part, and which page of its ledger."""

    maker: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    limit: int = Field(50, ge=1, le=MAX_PAGE)
    after: str | None = Field(
        None, max_length=LONGEST_MARK, pattern=NO_NUL, description="Mark of the page before."
    )


class DemandPage(LedgerPage):
    """Which part, from which day on, and which page of the days."""

    since: date | None = None
    limit: int = Field(MAX_PAGE, ge=1, le=MAX_PAGE)


@router.get("")
def get_stock(
    following: Following,
    session: Reader,
    page: Annotated[ShelfPage, Query()],
) -> dict[str, Any]:
    """Pieces by place of the parts that a text names; without one, stocked articles page by page."""
    if page.part:
        open_orders = read_open_orders(session, ShelfScope(None, None))
        return {
            "part": page.part,
            "parts": [
                {
                    "maker": found.ref.maker,
                    "part_number": found.ref.part_number,
                    "part_type": found.ref.part_type,
                    "on_hand": sum(place.on_hand for place in places),
                    "committed": sum(place.committed for place in places),
                    "available": sum(place.available for place in places),
                    "on_order": sum(order.quantity for order in open_orders.get(found.id, ())),
                    "places": [shape_place(place) for place in places],
                }
                for found in find_asked_parts(session, page.part)
                for places in [list_stock(session, found.id)]
            ],
        }
    rows = search_shelf(
        session,
        "",
        location=page.location or None,
        limit=page.limit + 1,
        after=open_row_mark(page.after) or 0,
    )
    mark = str(rows[page.limit - 1].part_id) if len(rows) > page.limit else None
    following.link(mark)
    return {"part": None, "parts": [shape_shelf_row(row) for row in rows[: page.limit]], "after": mark}


@router.get("/low", response_model=LowStockAnswerShape)
def get_low_stock(
    following: Following,
    session: Reader,
    page: Annotated[LowStockPage, Query()],
) -> dict[str, Any]:
    """What to order and whom to ask, with every figure and the reason in words.

    Without a location all places count as one shelf and ``location`` is null. Demand counts up to the last
    whole month before ``as_of``; pieces are those of now. Without a ``limit`` all lines come at once; with
    one, the next page is in ``Link`` and ``after``.
    """
    question = LowStockQuestion(page.as_of or date.today(), page.location or None)  # noqa: DTZ011 - shop's day
    answer = list_low_stock(session, question)
    names = [(item.line.maker, item.line.part_number) for item in answer.lines]
    first = find_line_place(page.after, names)
    last = len(names) if page.limit is None else first + page.limit
    mark = seal_line_mark(last, names[last - 1]) if last < len(names) else None
    following.link(mark)
    shaped = shape_low_stock(answer, answer.lines[first:last]) | {"after": mark}
    return hide_line_costs(shaped) if has_hidden_costs(session) else shaped


@router.get("/movements")
def get_movements(
    following: Following, session: Reader, page: Annotated[LedgerPage, Query()]
) -> dict[str, Any]:
    """The ledger of a part, newest first, with the balance of the place after each line, page by page."""
    part = get_part(session, page.maker, page.part_number)
    lines = list_movements(session, part.id, limit=page.limit + 1, before=open_row_mark(page.after))
    mark = str(lines[page.limit - 1].id) if len(lines) > page.limit else None
    following.link(mark)
    return {
        "maker": part.ref.maker,
        "part_number": part.ref.part_number,
        "movements": [shape_movement(line) for line in lines[: page.limit]],
        "after": mark,
    }


@router.get("/value")
def get_value(session: Reader, location: OptionalText = None) -> dict[str, Any]:
    """Value of the stock at the lowest known prices; parts without a price are counted apart."""
    value = compute_stock_value(session, location or None)
    return {
        "location": location,
        "value_minor": value.value_minor,
        "pieces": value.pieces,
        "pieces_without_price": value.pieces_without_price,
        "articles": value.articles,
    }


@router.get("/levels")
def get_levels(
    following: Following, session: Reader, limit: PageLimit = MAX_PAGE, after: PageMark = None
) -> dict[str, Any]:
    """Levels that persons set by hand, the latest first, with who and why; all others are computed."""
    levels, next_row = list_levels_page(session, limit=limit, before=open_row_mark(after))
    mark = None if next_row is None else str(next_row)
    following.link(mark)
    return {"levels": [shape_level_by_hand(level) for level in levels], "after": mark}


@router.get("/demand")
def get_demand(following: Following, session: Reader, page: Annotated[DemandPage, Query()]) -> dict[str, Any]:
    """Days on which a part was asked for, newest first, and what persons left out, with who and why.

    Days come page by page; what was left out comes whole with each page.
    """
    part = get_part(session, page.maker, page.part_number)
    found = list_demand_days(
        session,
        part.id,
        since=page.since or date.min,
        limit=page.limit + 1,
        after=open_day_mark(page.after),
    )
    shown = found[: page.limit]
    mark = seal_day_mark(shown[-1].day, shown[-1].location) if len(found) > page.limit else None
    following.link(mark)
    return {
        "maker": part.ref.maker,
        "part_number": part.ref.part_number,
        "days": [shape_demand_day(item) for item in shown],
        "left_out": [shape_left_out(item) for item in list_left_out(session, part.id)],
        "after": mark,
    }


@router.get("/backtest")
def get_backtest(
    session: Reader,
    location: OptionalText = None,
    as_of: date | None = None,
    service: Annotated[float, Query(ge=0.5, le=0.999)] = 0.95,
    lead_months: Annotated[int | None, Query(ge=0, le=12)] = None,
) -> dict[str, Any]:
    """Fill rate, pieces held and money on the shop's own past, against simpler rules.

    One is played at a time (429 meanwhile), and no more parts than a page waits for; the command plays any.
    """
    day = as_of or date.today()  # noqa: DTZ011 - the shop's own day
    question = LowStockQuestion(day, location or None, service=service)
    shaped = shape_backtest(play_bounded(session, question, lead_months=lead_months))
    return hide_worth(shaped) if has_hidden_costs(session) else shaped


@router.post("/moves", status_code=201, responses=WRITE_PROBLEMS)
def post_move(once: HeaderOnce, post: MovePost) -> Response:
    """Book a receipt, issue, return, move, count, write-off, or an unmet request; all of it or nothing."""
    return once(post, book)


@router.post("/receipts", status_code=201, responses=WRITE_PROBLEMS)
def post_receipt(once: HeaderOnce, post: ReceiptPost) -> Response:
    """Receive a delivery of many parts, by names or scanned codes; all of it or nothing."""
    return once(post, receive)


@router.post("/levels", status_code=201, responses=WRITE_PROBLEMS)
def post_level(once: HeaderOnce, post: LevelPost) -> Response:
    """Set a level by hand with who and why, or let it be computed again."""
    return once(post, decide_level)


@router.post("/excluded-demand", status_code=201, responses=WRITE_PROBLEMS)
def post_exclusion(once: HeaderOnce, post: ExclusionPost) -> Response:
    """Take pieces of a day out of the demand, with who and why."""
    return once(post, exclude_demand)


@router.delete("/excluded-demand/{exclusion}", status_code=204, responses=WRITE_PROBLEMS)
def delete_exclusion(session: Writer, exclusion: Annotated[int, Path(ge=1, le=2**53)]) -> Response:
    """Let pieces that were left out count as demand again; asking again finds nothing more to take back."""
    remove_excluded_demand(session, exclusion)
    return Response(status_code=204)
