"""What the shop writes down of a supplier's terms; a sheet's own columns stay as they are."""

from dataclasses import dataclass

from sqlalchemy import delete, insert
from sqlmodel import Session

from kb.edits.ledger import Entry
from kb.edits.money import LARGEST_MINOR
from kb.errors import BadInput
from kb.tables.columns import get_table

LARGEST_MARGIN_PERCENT = 1_000.0


@dataclass(frozen=True, slots=True)
class NewTerms:
    """Terms in minor units of the supplier's currency and in %; None = not known."""

    smallest_order_minor: int | None = None
    free_freight_from_minor: int | None = None
    freight_minor: int | None = None
    margin_percent: float | None = None


def change_supplier_terms(session: Session, supplier_id: int, terms: NewTerms, *, entry: Entry) -> None:
    """Write a supplier's terms down in place of those written before; all None takes them back.

    Raises:
        BadInput: an amount is below zero or too large, or freight would be free below the smallest order.
    """
    _check_amounts(terms)
    table = get_table("supplier_terms")
    connection = session.connection()
    connection.execute(delete(table).where(table.c.supplier_id == supplier_id))
    if terms == NewTerms():
        return
    connection.execute(
        insert(table).values(
            supplier_id=supplier_id,
            smallest_order_minor=terms.smallest_order_minor,
            free_freight_from_minor=terms.free_freight_from_minor,
            freight_minor=terms.freight_minor,
            margin_percent=terms.margin_percent,
            note=entry.note,
            made_by=entry.made_by,
            made_at_utc=entry.made_at_utc,
        )
    )


def _check_amounts(terms: NewTerms) -> None:
    for name in ("smallest_order_minor", "free_freight_from_minor", "freight_minor"):
        amount = getattr(terms, name)
        if amount is not None and not 0 <= amount <= LARGEST_MINOR:
            message = f"Amount '{amount}' of {name} is not usable; write 0 to {LARGEST_MINOR} minor units."
            raise BadInput(message, field=name)
    if terms.margin_percent is not None and not 0 <= terms.margin_percent <= LARGEST_MARGIN_PERCENT:
        message = f"Margin '{terms.margin_percent:g}' is not usable; write 0 to {LARGEST_MARGIN_PERCENT:g} %."
        raise BadInput(message, field="margin_percent")
    smallest, free_from = terms.smallest_order_minor, terms.free_freight_from_minor
    if smallest is not None and free_from is not None and free_from < smallest:
        message = (
            "Freight cannot be free from a value below the smallest order; "
            "write the same value for both, or a higher one for free freight."
        )
        raise BadInput(message, field="free_freight_from_minor")
