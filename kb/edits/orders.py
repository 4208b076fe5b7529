"""Orders to suppliers: drafted, approved, marked as sent, received. The program sends nothing itself."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import func, insert, select, update
from sqlmodel import Session

from kb.edits.ledger import Entry, Place, Posted, add_receipt, check_quantity
from kb.errors import BadInput, Conflict, NotFound
from kb.tables.columns import get_table

# From a state to the states that may follow.
NEXT_STATES = {
    "draft": ("approved", "cancelled"),
    "approved": ("sent", "draft", "cancelled"),
    "sent": ("closed",),
    "closed": (),
    "cancelled": (),
}


@dataclass(frozen=True, slots=True)
class NewOrder:
    """Who is asked, and where the pieces are to arrive."""

    supplier_id: int
    location_id: int


@dataclass(frozen=True, slots=True)
class NewOrderLine:
    """Pieces of a part, the price known today, and why they are ordered."""

    part_id: int
    quantity: int
    unit_price_minor: int | None = None
    currency: str | None = None
    supplier_sku: str | None = None
    lead_time_days: int | None = None
    why: str | None = None


def add_order(session: Session, new: NewOrder, lines: Sequence[NewOrderLine], *, entry: Entry) -> str:
    """Keep a draft order; returns its name, such as ``2026-0007``."""
    if not lines:
        raise BadInput("An order needs at least one line; nothing was kept.", field="lines")
    orders = get_table("purchase_order")
    connection = session.connection()
    year = f"{entry.day.year}-"
    last = connection.execute(
        select(func.max(orders.c.order_name)).where(orders.c.order_name.startswith(year))
    ).scalar()
    name = f"{year}{int(last.split('-')[1]) + 1 if last else 1:04d}"
    order_id = connection.execute(
        insert(orders)
        .values(
            order_name=name,
            supplier_id=new.supplier_id,
            location_id=new.location_id,
            state="draft",
            note=entry.note,
            made_by=entry.made_by,
            made_at_utc=entry.made_at_utc,
        )
        .returning(orders.c.id)
    ).scalar_one()
    connection.execute(
        insert(get_table("purchase_order_line")),
        [
            {
                "order_id": order_id,
                "part_id": line.part_id,
                "quantity": check_quantity(line.quantity),
                "received": 0,
                "cancelled": 0,
                "unit_price_minor": line.unit_price_minor,
                "currency": line.currency,
                "supplier_sku": line.supplier_sku,
                "due_on": None,
                "why": line.why,
            }
            for line in lines
        ],
    )
    return name


def change_order_line(session: Session, order_name: str, part_id: int, *, quantity: int) -> None:
    """Set the pieces of a draft's line; 0 takes the line out.

    Raises:
        Conflict: the order is no draft any more.
    """
    order = _get_order(session, order_name)
    if order.state != "draft":
        raise Conflict(f"Order '{order_name}' is {order.state}; only a draft is changed.")
    lines = get_table("purchase_order_line")
    here = (lines.c.order_id == order.id) & (lines.c.part_id == part_id)
    if quantity == 0:
        changed = session.connection().execute(lines.delete().where(here).returning(lines.c.id)).first()
    else:
        statement = update(lines).where(here).values(quantity=check_quantity(quantity))
        changed = session.connection().execute(statement.returning(lines.c.id)).first()
    if changed is None:
        raise NotFound(f"Order '{order_name}' has no line for this part; the order shows its lines.")


def change_order_state(session: Session, order_name: str, state: str, *, entry: Entry) -> None:
    """Approve, mark as sent, close or cancel an order.

    Marked as sent, each line gets the day that its supplier's time promises. Closed, what did not come is
    cancelled and no longer counts as on order.

    Raises:
        Conflict: the order cannot get there from its state.
    """
    order = _get_order(session, order_name)
    allowed = NEXT_STATES[order.state]
    if state not in allowed:
        possible = " or ".join(allowed) or "nothing further"
        message = f"Order '{order_name}' is {order.state} and cannot become {state}; possible: {possible}."
        raise Conflict(message)
    values: dict[str, object] = {"state": state}
    if state == "approved":
        values["approved_by"] = entry.made_by
    if state == "sent":
        values["sent_on"] = entry.day
        _promise_lines(session, order.id, order.supplier_id, sent_on=entry.day)
    if state == "closed":
        lines = get_table("purchase_order_line")
        statement = update(lines).where(lines.c.order_id == order.id)
        session.connection().execute(statement.values(cancelled=lines.c.quantity - lines.c.received))
    orders = get_table("purchase_order")
    session.connection().execute(update(orders).where(orders.c.id == order.id).values(values))


def add_order_receipt(
    session: Session, order_name: str, part_id: int, *, quantity: int, entry: Entry
) -> Posted:
    """Pieces of an order that came, in full or in part; the last ones close the order.

    Raises:
        Conflict: the order was not sent, or more came than are open; nothing was booked.
    """
    check_quantity(quantity)
    order = _get_order(session, order_name)
    if order.state != "sent":
        raise Conflict(f"Order '{order_name}' is {order.state}; mark it as sent before receiving from it.")
    connection = session.connection()
    lines = get_table("purchase_order_line")
    row = connection.execute(
        update(lines)
        .where(
            lines.c.order_id == order.id,
            lines.c.part_id == part_id,
            lines.c.received + lines.c.cancelled + quantity <= lines.c.quantity,
        )
        .values(received=lines.c.received + quantity)
        .returning(lines.c.id)
    ).first()
    if row is None:
        message = (
            f"Order '{order_name}' does not wait for {quantity} more of this part; nothing was booked. "
            "Receive what was ordered here and the rest without an order."
        )
        raise Conflict(message)
    noted = Entry(entry.made_at, entry.made_by, entry.note or f"order {order_name}")
    posted = add_receipt(session, Place(order.location_id, part_id), quantity, noted)
    still_open = connection.execute(
        select(lines.c.id)
        .where(lines.c.order_id == order.id, lines.c.received + lines.c.cancelled < lines.c.quantity)
        .limit(1)
    ).first()
    if still_open is None:
        orders = get_table("purchase_order")
        connection.execute(update(orders).where(orders.c.id == order.id).values(state="closed"))
    return posted


def find_open_pieces(session: Session, order_name: str) -> tuple[int, dict[int, int]]:
    """Place of an order that was sent, and the pieces of each part that are still to come; locks the order.

    Raises:
        NotFound: no order has this name. Conflict: it was not sent.
    """
    order = _get_order(session, order_name)
    if order.state != "sent":
        raise Conflict(f"Order '{order_name}' is {order.state}; only an order that was sent is received.")
    lines = get_table("purchase_order_line").c
    rows = session.connection().execute(
        select(lines.part_id, lines.quantity - lines.received - lines.cancelled).where(
            lines.order_id == order.id
        )
    )
    return order.location_id, {part_id: pieces for part_id, pieces in rows.all() if pieces > 0}


@dataclass(frozen=True, slots=True)
class _StoredOrder:
    id: int
    supplier_id: int
    location_id: int
    state: str


def _get_order(session: Session, order_name: str) -> _StoredOrder:
    orders = get_table("purchase_order").c
    row = session.connection().execute(
        select(orders.id, orders.supplier_id, orders.location_id, orders.state)
        .where(orders.order_name == order_name)
        .with_for_update()
    ).first()  # fmt: skip
    if row is None:
        raise NotFound(f"Order '{order_name[:60]}' is not known; the list of orders shows the names.")
    return _StoredOrder(row.id, row.supplier_id, row.location_id, row.state)


def _promise_lines(session: Session, order_id: int, supplier_id: int, *, sent_on: date) -> None:
    """Each line's day of arrival by the time of the newest offer, else of the supplier, else not known."""
    connection = session.connection()
    lines, offers, suppliers = get_table("purchase_order_line"), get_table("offer").c, get_table("supplier").c
    usual = connection.execute(select(suppliers.lead_time_days).where(suppliers.id == supplier_id)).scalar()
    for line_id, part_id in connection.execute(
        select(lines.c.id, lines.c.part_id).where(lines.c.order_id == order_id)
    ).all():
        offered = connection.execute(
            select(offers.lead_time_days)
            .where(offers.part_id == part_id, offers.supplier_id == supplier_id)
            .order_by(offers.seen_on.desc(), offers.id)
            .limit(1)
        ).scalar()
        days = usual if offered is None else offered
        due_on = None if days is None else sent_on + timedelta(days=days)
        connection.execute(update(lines).where(lines.c.id == line_id).values(due_on=due_on))
