"""Orders on pages: proposals by supplier, drafts, what was sent, receiving with a scanner."""

import secrets
from datetime import UTC, date, datetime
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import RedirectResponse, Response

from api.answers.stock import shape_order, shape_proposal
from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, PathText, Reader, Writer
from api.once import post_once
from api.order_keeping import OrderLinePost, OrderPost, keep_order
from api.pages.stock import need_done
from api.pages.templates import render
from kb.edits.ledger import Entry
from kb.edits.orders import NEXT_STATES, add_order_receipt, change_order_line, change_order_state
from kb.errors import BadInput
from kb.lookups.locations import list_locations
from kb.lookups.low_stock import LowStockQuestion
from kb.lookups.order_draft import draft_orders
from kb.lookups.orders import get_order, list_orders
from kb.lookups.parts import get_part
from kb.lookups.scanned import find_scanned

router = APIRouter(prefix="/orders", include_in_schema=False)

Text = Annotated[str, Field(max_length=MAX_TEXT, pattern=NO_NUL)]


class ProposalForm(BaseModel):
    """Which proposal to keep as a draft."""

    key: str = Field(min_length=1, max_length=255)
    supplier: Text
    location: Text
    shelf: Text = ""


class OrderForm(BaseModel):
    """What to do with an order: a new state, a changed line, or a code that was scanned."""

    key: str = Field(min_length=1, max_length=255)
    state: Text = ""
    maker: Text = ""
    part_number: Text = ""
    code: Text = ""
    quantity: int = Field(1, ge=0, le=1_000_000)


@router.get("")
def show_orders(session: Reader, location: OptionalText = None) -> Response:
    """Kept orders, and what the shelf asks for."""
    today = date.today()  # noqa: DTZ011 - the shop's own day
    proposals = draft_orders(session, LowStockQuestion(today, location or None))
    return render(
        "orders.html",
        orders=[shape_order(order) for order in list_orders(session, today)],
        proposals=[shape_proposal(proposal) for proposal in proposals],
        locations=list_locations(session),
        location=location or "",
        key=secrets.token_urlsafe(16),
    )


@router.post("")
def post_proposal(request: Request, session: Writer, form: Annotated[ProposalForm, Form()]) -> Response:
    """Keep what is proposed for a supplier as a draft."""
    question = LowStockQuestion(date.today(), form.shelf or None)  # noqa: DTZ011
    lines = [
        OrderLinePost(
            maker=line["maker"],
            part_number=line["part_number"],
            quantity=line["suggested_quantity"],
            why=line["text"],
        )
        for proposal in draft_orders(session, question, supplier=form.supplier)
        for line in shape_proposal(proposal)["lines"]
        if line["suggested_quantity"] and not line["needs_person"]
    ]
    post = OrderPost(supplier=form.supplier, location=form.location, lines=lines)
    answer = post_once(
        request,
        session,
        form.key,
        post=form,
        work=lambda: {
            "order": keep_order(session, post, made_by=_name_caller(request), now=datetime.now(UTC))
        },
    )
    need_done(answer)
    return RedirectResponse("/orders", status_code=303)


@router.get("/{order_name}")
def show_order(session: Reader, order_name: PathText, said: OptionalText = None) -> Response:
    """One order, to edit, print, mark and receive."""
    order = shape_order(get_order(session, order_name, date.today()))  # noqa: DTZ011
    return render(
        "order.html",
        order=order,
        next_states=NEXT_STATES[order["state"]],
        said=said or "",
        key=secrets.token_urlsafe(16),
    )


@router.post("/{order_name}")
def post_order(
    request: Request, session: Writer, order_name: PathText, form: Annotated[OrderForm, Form()]
) -> Response:
    """Change the state or a line of an order, or receive pieces of it."""
    said: list[str] = []

    def work() -> dict[str, str]:
        entry = Entry(datetime.now(UTC), _name_caller(request))
        if form.state:
            change_order_state(session, order_name, form.state, entry=entry)
            return {}
        if form.code:
            said.append(_receive(form))
            return {}
        part = get_part(session, form.maker, form.part_number)
        change_order_line(session, order_name, part.id, quantity=form.quantity)
        return {}

    def _receive(form: OrderForm) -> str:
        scanned = find_scanned(session, form.code)
        if scanned.part is None:
            raise BadInput(scanned.why or f"Code '{form.code}' is no part.", field="code")
        entry = Entry(datetime.now(UTC), _name_caller(request))
        posted = add_order_receipt(session, order_name, scanned.part.id, quantity=form.quantity, entry=entry)
        ref = scanned.part.ref
        return f"{form.quantity} of {ref.maker} {ref.part_number} received; {posted.on_hand} on hand."

    need_done(post_once(request, session, form.key, post=form, work=work))
    query = f"?said={quote(said[0])}" if said else ""
    return RedirectResponse(f"/orders/{quote(order_name, safe='')}{query}", status_code=303)


def _name_caller(request: Request) -> str | None:
    return getattr(request.state, "caller", "") or None
