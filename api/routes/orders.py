"""Orders to suppliers: proposals, drafts, states, receipts. The program sends nothing itself."""

from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import PlainTextResponse, Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.stock import ORDER_COLUMNS, build_csv, shape_order, shape_proposal
from api.dependencies import OptionalText, PathText, Reader, Writer
from api.once import post_once
from api.order_keeping import OrderLinePost, OrderPost, keep_order
from api.postings import MAX_TEXT, NO_NUL
from api.routes.stock import RequestKey
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


@router.get("/order-draft")
def get_order_draft(session: Reader, asked: Annotated[OrderDraftQuestion, Query()]) -> dict[str, Any]:
    """What to order from each supplier, what waits and why; a top-up is offered, not done."""
    question = LowStockQuestion(asked.as_of or date.today(), asked.location or None)  # noqa: DTZ011
    freight_minor = None if asked.freight is None else round(100 * asked.freight)
    proposals = draft_orders(
        session,
        question,
        supplier=asked.supplier or None,
        costs=OrderCosts(freight_minor, asked.margin),
        is_topped_up=asked.top_up,
    )
    return {
        "location": question.location,
        "as_of": question.as_of.isoformat(),
        "orders": [shape_proposal(proposal) for proposal in proposals],
    }


@router.get("/orders")
def get_orders(session: Reader, state: OptionalText = None) -> dict[str, Any]:
    """Kept orders, newest first."""
    orders = list_orders(session, date.today(), states=[state] if state else ())  # noqa: DTZ011
    return {"orders": [shape_order(order) for order in orders]}


@router.post("/orders", status_code=201, responses=WRITE_PROBLEMS)
def post_order(request: Request, session: Writer, post: OrderPost, key: RequestKey = None) -> Response:
    """Keep a draft order."""

    def work() -> dict[str, Any]:
        name = keep_order(session, post, made_by=_name_caller(request), now=datetime.now(UTC))
        return shape_order(get_order(session, name, date.today()))  # noqa: DTZ011

    return post_once(request, session, key, post=post, work=work)


@router.get("/orders/{order_name}")
def get_one_order(session: Reader, order_name: PathText) -> dict[str, Any]:
    """One order with its lines."""
    return shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011


@router.get("/orders/{order_name}/csv", response_class=PlainTextResponse)
def get_order_csv(session: Reader, order_name: PathText) -> Response:
    """The lines of an order as CSV, to send to the supplier by hand."""
    order = shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011
    headers = {"Content-Disposition": f'attachment; filename="order-{order["order"]}.csv"'}
    return Response(build_csv(order["lines"], ORDER_COLUMNS), media_type="text/csv", headers=headers)


@router.post("/orders/{order_name}/state", status_code=201, responses=WRITE_PROBLEMS)
def post_order_state(
    request: Request, session: Writer, order_name: PathText, post: OrderStatePost, key: RequestKey = None
) -> Response:
    """Approve, mark as sent, close or cancel an order."""

    def work() -> dict[str, Any]:
        entry = Entry(datetime.now(UTC), _name_caller(request), post.note)
        change_order_state(session, order_name, post.state, entry=entry)
        return shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011

    return post_once(request, session, key, post=post, work=work)


@router.post("/orders/{order_name}/lines", status_code=201, responses=WRITE_PROBLEMS)
def post_order_line(
    request: Request, session: Writer, order_name: PathText, post: OrderLinePost, key: RequestKey = None
) -> Response:
    """Change the pieces of a line of a draft; 0 takes it out."""

    def work() -> dict[str, Any]:
        part = get_part(session, post.maker, post.part_number)
        change_order_line(session, order_name, part.id, quantity=post.quantity)
        return shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011

    return post_once(request, session, key, post=post, work=work)


def _name_caller(request: Request) -> str | None:
    return getattr(request.state, "caller", "") or None
