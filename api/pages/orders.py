"""Orders on pages: proposals by supplier, drafts, what was sent, receiving with a scanner."""

import secrets
from datetime import date, datetime
from functools import partial
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.stock import shape_order, shape_proposal
from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, PathText, Reader, Writer
from api.once import FormOnce
from api.order_keeping import OrderLinePost, OrderPost, keep_order
from api.pages.templates import render
from api.problems import Problem, describe_error
from kb.edits.ledger import Entry
from kb.edits.orders import NEXT_STATES, add_order_receipt, change_order_line, change_order_state
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.locations import find_main_location, list_locations
from kb.lookups.low_stock import LowStockQuestion
from kb.lookups.order_draft import draft_orders
from kb.lookups.orders import get_order, list_orders
from kb.lookups.parts import get_part
from kb.lookups.scanned import find_scanned

router = APIRouter(prefix="/orders", include_in_schema=False)

OPEN_STATES = ("draft", "approved", "sent")
ENDED_STATES = ("closed", "cancelled")
SHOWN_ENDED = 30

Text = Annotated[str, Field(max_length=MAX_TEXT, pattern=NO_NUL)]


class ProposalForm(BaseModel):
    """Which proposal to keep as a draft."""

    key: str = Field(min_length=1, max_length=255)
    supplier: Text
    location: Text
    shelf: Text = ""
    filled_up: bool = False


class OrderForm(BaseModel):
    """What to do with an order: a new state, a changed line, or a code that was scanned."""

    key: str = Field(min_length=1, max_length=255)
    state: Text = ""
    maker: Text = ""
    part_number: Text = ""
    code: Text = ""
    quantity: int = Field(1, ge=0, le=1_000_000)


@router.get("")
def show_orders(session: Reader, location: OptionalText = None, top_up: OptionalText = None) -> Response:
    """Kept orders, and what the shelf asks for; ``top_up``: the supplier whose order is to be filled up."""
    return _render_orders(session, location=location or "", top_up=top_up or "")


def _render_orders(
    session: Session, *, location: str, top_up: str = "", problem: Problem | None = None
) -> Response:
    today = date.today()  # noqa: DTZ011 - the shop's own day
    question = LowStockQuestion(today, location or None)
    filled = draft_orders(session, question, supplier=top_up, is_topped_up=True) if top_up else []
    by_supplier = {item.supplier: item for item in filled}
    proposals = [by_supplier.get(item.supplier, item) for item in draft_orders(session, question)]
    return render(
        "orders.html",
        status=problem.code if problem else 200,
        orders=[shape_order(order) for order in list_orders(session, today, states=OPEN_STATES)],
        ended=[
            shape_order(order)
            for order in list_orders(session, today, states=ENDED_STATES, limit=SHOWN_ENDED)
        ],
        proposals=[shape_proposal(proposal) for proposal in proposals],
        locations=list_locations(session),
        location=location,
        deliver_to=location or find_main_location(session),
        top_up=top_up,
        problem=problem,
        key=secrets.token_urlsafe(16),
    )


@router.post("")
def post_proposal(once: FormOnce, session: Writer, form: Annotated[ProposalForm, Form()]) -> Response:
    """Keep what is proposed for a supplier as a draft, as it stands or filled up."""
    question = LowStockQuestion(date.today(), form.shelf or None)  # noqa: DTZ011
    shaped = [
        shape_proposal(proposal)
        for proposal in draft_orders(session, question, supplier=form.supplier, is_topped_up=form.filled_up)
    ]
    post = OrderPost(
        supplier=form.supplier,
        location=form.location,
        lines=[line for proposal in shaped for line in _list_lines(proposal, filled_up=form.filled_up)],
    )
    try:
        name = once.do(form.key, form, partial(_keep, order=post))["order"]
    except (BadInput, Conflict, NotFound) as error:
        return _render_orders(session, location=form.shelf, problem=describe_error(error))
    return RedirectResponse(f"/orders/{quote(name, safe='')}", status_code=303)


def _list_lines(proposal: dict[str, Any], *, filled_up: bool) -> list[OrderLinePost]:
    """The lines of a proposal that need no person, with what fills the order up where that is wanted."""
    why = {
        (line["maker"], line["part_number"]): line["text"]
        for line in proposal["lines"]
        if line["suggested_quantity"] and not line["needs_person"]
    }
    pieces = {
        (line["maker"], line["part_number"]): line["suggested_quantity"]
        for line in proposal["lines"]
        if (line["maker"], line["part_number"]) in why
    }
    if filled_up and proposal["top_up"]:
        pieces |= {
            (line["maker"], line["part_number"]): line["quantity"] for line in proposal["top_up"]["lines"]
        }
    return [
        OrderLinePost(
            maker=maker,
            part_number=number,
            quantity=quantity,
            why=why.get((maker, number), "fills the order up"),
        )
        for (maker, number), quantity in pieces.items()
    ]


@router.get("/{order_name}")
def show_order(session: Reader, order_name: PathText, said: OptionalText = None) -> Response:
    """One order, to edit, print, mark and receive."""
    return _render_order(session, order_name, said=said or "")


def _render_order(
    session: Session, order_name: str, *, said: str = "", typed: str = "", problem: Problem | None = None
) -> Response:
    order = shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011
    return render(
        "order.html",
        status=problem.code if problem else 200,
        order=order,
        next_states=NEXT_STATES[order["state"]],
        said=said,
        typed=typed,
        problem=problem,
        key=secrets.token_urlsafe(16),
    )


@router.post("/{order_name}")
def post_order(
    once: FormOnce, session: Writer, order_name: PathText, form: Annotated[OrderForm, Form()]
) -> Response:
    """Change the state or a line of an order, or receive pieces of it; what is refused is said above."""
    try:
        said = once.do(form.key, form, partial(_change, order_name=order_name)).get("said", "")
    except (BadInput, Conflict, NotFound) as error:
        return _render_order(session, order_name, typed=form.code, problem=describe_error(error))
    query = f"?said={quote(said)}" if said else ""
    return RedirectResponse(f"/orders/{quote(order_name, safe='')}{query}", status_code=303)


def _keep(
    session: Session, _form: ProposalForm, *, order: OrderPost, made_by: str | None, now: datetime
) -> dict[str, str]:
    return {"order": keep_order(session, order, made_by=made_by, now=now)}


def _change(
    session: Session, form: OrderForm, *, order_name: str, made_by: str | None, now: datetime
) -> dict[str, str]:
    entry = Entry(now, made_by)
    if form.state:
        change_order_state(session, order_name, form.state, entry=entry)
        return {}
    if form.code:
        scanned = find_scanned(session, form.code)
        if scanned.part is None:
            raise BadInput(scanned.why or f"Code '{form.code}' is no part.", field="code")
        posted = add_order_receipt(session, order_name, scanned.part.id, quantity=form.quantity, entry=entry)
        ref = scanned.part.ref
        said = f"{form.quantity} of {ref.maker} {ref.part_number} received; {posted.on_hand} on hand."
        return {"said": said}
    part = get_part(session, form.maker, form.part_number)
    change_order_line(session, order_name, part.id, quantity=form.quantity)
    return {}
