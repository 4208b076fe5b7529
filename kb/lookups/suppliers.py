"""Suppliers with their terms: what a sheet says, and what a person of the shop wrote down beside it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import NotFound
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class WrittenTerms:
    """Terms that a person wrote down [minor units, %], with who and when; None = not known."""

    smallest_order_minor: int | None
    free_freight_from_minor: int | None
    freight_minor: int | None
    margin_percent: float | None
    note: str | None
    made_by: str | None
    made_at_utc: datetime


@dataclass(frozen=True, slots=True)
class SupplierRef:
    """A supplier with its terms; ``minimum_order_minor`` is the sheet's own."""

    id: int
    supplier: str
    name: str | None
    currency: str | None
    minimum_order_minor: int | None
    lead_time_days: int | None
    note: str | None = None
    written: WrittenTerms | None = None

    @property
    def smallest_order_minor(self) -> int | None:
        """Value below which no order is taken; only a person says so: the sheet's may mean freight."""
        return self.written.smallest_order_minor if self.written else None

    @property
    def free_freight_from_minor(self) -> int | None:
        """Value from which freight is free: as written down, else the sheet's minimum order."""
        if self.written is None:
            return self.minimum_order_minor
        if self.written.free_freight_from_minor is not None or self.written.smallest_order_minor is not None:
            return self.written.free_freight_from_minor
        return self.minimum_order_minor

    @property
    def wanted_value_minor(self) -> int:
        """Value that an order has to reach so that nothing speaks against it."""
        return max(self.smallest_order_minor or 0, self.free_freight_from_minor or 0)


def list_suppliers(session: Session, *, after: str = "", limit: int | None = None) -> list[SupplierRef]:
    """Suppliers by name, from the one after ``after`` on; all of them, or no more than ``limit``."""
    supplier, terms = get_table("supplier"), get_table("supplier_terms")
    statement = (
        select(
            supplier.c.id,
            supplier.c.supplier,
            supplier.c.name,
            supplier.c.currency,
            supplier.c.minimum_order_minor,
            supplier.c.lead_time_days,
            supplier.c.note,
            terms.c.smallest_order_minor,
            terms.c.free_freight_from_minor,
            terms.c.freight_minor,
            terms.c.margin_percent,
            terms.c.note.label("terms_note"),
            terms.c.made_by,
            terms.c.made_at_utc,
        )
        .select_from(supplier.outerjoin(terms))
        .where(supplier.c.supplier > after)
        .order_by(supplier.c.supplier)
        .limit(limit)
    )
    return [_build(row) for row in session.execute(statement)]


def get_supplier(session: Session, name: str) -> SupplierRef:
    """The supplier with this name, case aside.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    known = list_suppliers(session)
    for ref in known:
        if ref.supplier.casefold() == name.strip().casefold():
            return ref
    names = [ref.supplier for ref in known]
    message = f"Supplier '{name[:60]}' is not known; {format_nearest(name, names)}."
    raise NotFound(message, nearest=find_nearest(name, names))


def _build(row: Any) -> SupplierRef:
    written = None
    if row.made_at_utc is not None:
        written = WrittenTerms(
            row.smallest_order_minor,
            row.free_freight_from_minor,
            row.freight_minor,
            row.margin_percent,
            row.terms_note,
            row.made_by,
            row.made_at_utc,
        )
    return SupplierRef(
        row.id,
        row.supplier,
        row.name,
        row.currency,
        row.minimum_order_minor,
        row.lead_time_days,
        row.note,
        written,
    )
