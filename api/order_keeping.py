"""An order as somebody wrote it, by names, kept as a draft: for the API and the pages."""

from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from api.postings import MAX_TEXT, NO_NUL
from kb.edits.ledger import Entry
from kb.edits.orders import NewOrder, NewOrderLine, add_order
from kb.lookups.locations import get_location
from kb.lookups.parts import get_part
from kb.lookups.supplier_offers import find_supplier_offers
from kb.lookups.suppliers import get_supplier
from kb.rules.reorder.lot_size import find_unit_price


class OrderLinePost(BaseModel):
    """Pieces of a part on an order."""

    model_config = ConfigDict(extra="forbid")

    maker: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(strict=True, ge=0, le=1_000_000)
    why: str | None = Field(None, max_length=500, pattern=NO_NUL)


class OrderPost(BaseModel):
    """An order to keep as a draft; prices come from the supplier's newest offers."""

    model_config = ConfigDict(extra="forbid")

    supplier: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    lines: list[OrderLinePost] = Field(max_length=2_000)
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)


def keep_order(session: Session, post: OrderPost, *, made_by: str | None, now: datetime) -> str:
    """Keep an order; returns its name.

    Raises:
        NotFound: supplier, place or a part is unknown. BadInput: there is no line.
    """
    supplier = get_supplier(session, post.supplier)
    location = get_location(session, post.location)
    parts = [(get_part(session, line.maker, line.part_number).id, line) for line in post.lines]
    offers = find_supplier_offers(session, [part_id for part_id, _ in parts], supplier=supplier.supplier)
    lines = []
    for part_id, line in parts:
        if line.quantity == 0:
            continue
        offered = offers.get(part_id)
        best = offered[0] if offered else None
        at_break = find_unit_price(best.offer.price_breaks, line.quantity) if best else None
        price = at_break if at_break is not None else (best.offer.unit_price_minor if best else None)
        lines.append(
            NewOrderLine(
                part_id,
                line.quantity,
                price,
                best.currency if best else None,
                best.supplier_sku if best else None,
                best.offer.lead_time_days if best else None,
                line.why,
            )
        )
    entry = Entry(now, made_by, post.note)
    return add_order(session, NewOrder(supplier.id, location.id), lines, entry=entry)
