"""Orders to suppliers: proposals, drafts, states, receipts. The program sends nothing itself."""

from datetime import date, datetime
from functools import partial
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session
from starlette.responses import PlainTextResponse, Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.stock import ORDER_COLUMNS, build_csv, shape_order, shape_proposal
from api.dependencies import MAX_PAGE, OptionalText, PageLimit, PageMark, PathText, Reader
from api.marks import LONGEST_MARK, Following, find_line_place, open_mark, seal_line_mark, seal_mark
from api.once import HeaderOnce
from api.order_keeping import OrderLinePost, OrderPost, keep_order
from api.postings import MAX_TEXT, NO_NUL
from kb.edits.ledger import Entry
from kb.edits.orders import change_order_line, change_order_state
from kb.lookups.low_stock import LowStockQuestion
from kb.lookups.order_draft import OrderCosts, draft_orders
from kb.lookups.orders import get_order, list_orders
from kb.lookups.parts import get_part

router = APIRouter(prefix="/api", tags=["orders"], responses=READ_PROBLEMS)


class OrderStatePost(BaseModel):
    """The state that an order is brought to."""

    model_config = ConfigDict(extra="forbid")

    state: Literal["approved", "draft", "sent", "closed", "cancelled"]
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)


class OrderDraftQuestion(BaseModel):
    """What to draft: freight in money, margin in % of the price, both where known."""

    supplier: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    location: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    as_of: date | None = None
    freight: float | None = Field(None, ge=0, le=100_000)
    margin: float | None = Field(None, ge=0, le=1_000)
    top_up: bool = False
    limit: int | None = Field(None, ge=1, le=MAX_PAGE, description="Orders of a page; without it all come.")
    after: str | None = Field(
        None, max_length=LONGEST_MARK, pattern=NO_NUL, description="Mark of the page before."
    )


@router.get("/order-draft")
def get_order_draft(
    following: Following, session: Reader, asked: Annotated[OrderDraftQuestion, Query()]
) -> dict[str, Any]:
    """What to order from each supplier, what waits and why; a top-up is offered, not done.

    Without a ``limit`` all suppliers come at once; with one, the next page is in ``Link`` and ``after``.
    """
    question = LowStockQuestion(asked.as_of or date.today(), asked.location or None)  # noqa: DTZ011
    freight_minor = None if asked.freight is None else round(100 * asked.freight)
    proposals = draft_orders(
        session,
        question,
        supplier=asked.supplier or None,
        costs=OrderCosts(freight_minor, asked.margin),
        is_topped_up=asked.top_up,
    )
    names = [(item.supplier.supplier if item.supplier else "", "order") for item in proposals]
    first = find_line_place(asked.after, names)
    last = len(names) if asked.limit is None else first + asked.limit
    mark = seal_line_mark(last, names[last - 1]) if last < len(names) else None
    following.link(mark)
    return {
        "location": question.location,
        "as_of": question.as_of.isoformat(),
        "orders": [shape_proposal(proposal) for proposal in proposals[first:last]],
        "after": mark,
    }


@router.get("/orders")
def get_orders(
    following: Following,
    session: Reader,
    state: OptionalText = None,
    limit: PageLimit = 50,
    after: PageMark = None,
) -> dict[str, Any]:
    """Kept orders, newest first, a page at a time."""
    found = list_orders(
        session,
        date.today(),  # noqa: DTZ011 - the shop's own day
        states=[state] if state else (),
        before=open_mark(after) or None,
        limit=limit + 1,
    )
    shown = found[:limit]
    mark = seal_mark(shown[-1].order_name) if len(found) > limit else None
    following.link(mark)
    return {"orders": [shape_order(order) for order in shown], "after": mark}


@router.post("/orders", status_code=201, responses=WRITE_PROBLEMS)
def post_order(once: HeaderOnce, post: OrderPost) -> Response:
    """Keep a draft order."""
    return once(post, _keep)


@router.get("/orders/{order_name}")
def get_one_order(session: Reader, order_name: PathText) -> dict[str, Any]:
    """One order with its lines."""
    return _shape(session, order_name)


@router.get("/orders/{order_name}/csv", response_class=PlainTextResponse)
def get_order_csv(session: Reader, order_name: PathText) -> Response:
    """The lines of an order as CSV, to send to the supplier by hand."""
    order = _shape(session, order_name)
    headers = {"Content-Disposition": f'attachment; filename="order-{order["order"]}.csv"'}
    return Response(build_csv(order["lines"], ORDER_COLUMNS), media_type="text/csv", headers=headers)


@router.post("/orders/{order_name}/state", status_code=201, responses=WRITE_PROBLEMS)
def post_order_state(once: HeaderOnce, order_name: PathText, post: OrderStatePost) -> Response:
    """Approve, mark as sent, close or cancel an order."""
    return once(post, partial(_change_state, order_name=order_name))


@router.post("/orders/{order_name}/lines", status_code=201, responses=WRITE_PROBLEMS)
def post_order_line(once: HeaderOnce, order_name: PathText, post: OrderLinePost) -> Response:
    """Change the pieces of a line of a draft; 0 takes it out."""
    return once(post, partial(_change_line, order_name=order_name))


def _keep(session: Session, post: OrderPost, *, made_by: str | None, now: datetime) -> dict[str, Any]:
    return _shape(session, keep_order(session, post, made_by=made_by, now=now))


def _change_state(
    session: Session, post: OrderStatePost, *, order_name: str, made_by: str | None, now: datetime
) -> dict[str, Any]:
    change_order_state(session, order_name, post.state, entry=Entry(now, made_by, post.note))
    return _shape(session, order_name)


def _change_line(session: Session, post: OrderLinePost, *, order_name: str, **_by: object) -> dict[str, Any]:
    part = get_part(session, post.maker, post.part_number)
    change_order_line(session, order_name, part.id, quantity=post.quantity)
    return _shape(session, order_name)


def _shape(session: Session, order_name: str) -> dict[str, Any]:
    return shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011 - the shop's own day
