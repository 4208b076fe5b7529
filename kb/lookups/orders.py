"""Orders to suppliers as they stand: lines, what is open, what is late."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Select, select
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table
from kb.tables.orders import ORDER_STATES


@dataclass(frozen=True, slots=True)
class OrderLine:
    """Pieces of a part on an order."""

    part_id: int
    maker: str
    part_number: str
    quantity: int
    received: int
    cancelled: int
    unit_price_minor: int | None
    currency: str | None
    supplier_sku: str | None
    due_on: date | None
    why: str | None

    @property
    def open_pieces(self) -> int:
        """Pieces still to come."""
        return self.quantity - self.received - self.cancelled


@dataclass(frozen=True, slots=True)
class Order:
    """An order with its lines; ``late_days`` of the latest open line on the day asked for."""

    order_name: str
    supplier: str
    supplier_name: str | None
    location: str
    state: str
    note: str | None
    made_by: str | None
    made_on: date
    sent_on: date | None
    lines: tuple[OrderLine, ...]
    late_days: int

    @property
    def value_minor(self) -> int | None:
        """Value of the lines; None where a price is not known."""
        values = [
            line.quantity * line.unit_price_minor for line in self.lines if line.unit_price_minor is not None
        ]
        return sum(values) if len(values) == len(self.lines) else None

    @property
    def currency(self) -> str | None:
        """Currency of the first line with one."""
        return next((line.currency for line in self.lines if line.currency), None)


def list_orders(
    session: Session,
    today: date,
    *,
    states: Sequence[str] = (),
    before: str | None = None,
    limit: int | None = None,
) -> list[Order]:
    """Orders, newest first; in these states only where any are named; no more than ``limit``.

    ``before`` is the name of an order: only those that come after it in the list.

    Raises:
        BadInput: there is no such state.
    """
    for state in states:
        if state not in ORDER_STATES:
            message = f"State '{state[:60]}' is not one of an order; write one of {', '.join(ORDER_STATES)}."
            raise BadInput(message, field="state")
    # State by state, so that the index gives each of them in the order of the list.
    wanted = [_select_names(state, before=before, limit=limit) for state in states or (None,)]
    names = sorted((name for found in wanted for name in session.execute(found).scalars()), reverse=True)
    return _read_orders(session, names if limit is None else names[:limit], today)


def _select_names(state: str | None, *, before: str | None, limit: int | None) -> Select[tuple[str]]:
    order = get_table("purchase_order").c
    statement = select(order.order_name).order_by(order.order_name.desc())
    if state is not None:
        statement = statement.where(order.state == state)
    if before is not None:
        statement = statement.where(order.order_name < before)
    return statement if limit is None else statement.limit(limit)


def get_order(session: Session, order_name: str, today: date) -> Order:
    """The order with this name.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    found = _read_orders(session, [order_name], today)
    if not found:
        names = list(session.execute(select(get_table("purchase_order").c.order_name)).scalars())
        message = f"Order '{order_name[:60]}' is not known; {format_nearest(order_name, names)}."
        raise NotFound(message, nearest=find_nearest(order_name, names))
    return found[0]


def _read_orders(session: Session, names: Sequence[str], today: date) -> list[Order]:
    order, supplier, location = get_table("purchase_order"), get_table("supplier"), get_table("location")
    statement = (
        select(order, supplier.c.supplier, supplier.c.name, location.c.location)
        .select_from(order.join(supplier).join(location))
        .where(order.c.order_name.in_(names))
        .order_by(order.c.order_name.desc())
    )
    rows = session.execute(statement).all()
    lines = _read_lines(session, [row.id for row in rows])
    return [
        Order(
            order_name=row.order_name,
            supplier=row.supplier,
            supplier_name=row.name,
            location=row.location,
            state=row.state,
            note=row.note,
            made_by=row.made_by,
            made_on=row.made_at_utc.date(),
            sent_on=row.sent_on,
            lines=tuple(lines.get(row.id, ())),
            late_days=_count_late_days(lines.get(row.id, ()), today) if row.state == "sent" else 0,
        )
        for row in rows
    ]


def _count_late_days(lines: Sequence[OrderLine], today: date) -> int:
    due = [line.due_on for line in lines if line.due_on is not None and line.open_pieces > 0]
    return max((max((today - day).days, 0) for day in due), default=0)


def _read_lines(session: Session, order_ids: Sequence[int]) -> dict[int, list[OrderLine]]:
    line, part, maker = get_table("purchase_order_line"), get_table("part"), get_table("maker")
    statement = (
        select(line, maker.c.maker, part.c.part_number)
        .select_from(line.join(part).join(maker))
        .where(line.c.order_id.in_(order_ids))
        .order_by(maker.c.maker, part.c.part_number)
    )
    found: dict[int, list[OrderLine]] = {}
    for row in session.execute(statement):
        found.setdefault(row.order_id, []).append(
            OrderLine(
                row.part_id,
                row.maker,
                row.part_number,
                row.quantity,
                row.received,
                row.cancelled,
                row.unit_price_minor,
                row.currency,
                row.supplier_sku,
                row.due_on,
                row.why,
            )
        )
    return found
