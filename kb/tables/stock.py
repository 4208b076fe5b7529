"""Suppliers and their offers, stock by place as a ledger, and what was asked for in the past.

On-hand is the sum of the movements of a part at a location; ``stock_level`` carries that sum so that
one conditional update can refuse to take what is not there.
"""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_positive_checks,
    build_primary_key,
    build_reference,
    build_word_check,
)

MOVEMENT_KINDS = ("receive", "issue", "return", "move", "count", "write_off")


class Supplier(SQLModel, table=True):
    """Who delivers; money is in minor units of ``currency``."""

    __tablename__ = "supplier"
    __table_args__ = build_not_negative_checks("minimum_order_minor", "lead_time_days")

    id: int | None = build_primary_key()
    supplier: str = Field(unique=True)
    name: str | None = None
    currency: str | None = None
    minimum_order_minor: int | None = None
    lead_time_days: int | None = None
    note: str | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class SupplierTerms(SQLModel, table=True):
    """What a person wrote down of a supplier's terms, beside what a sheet says; who and when.

    Money is in minor units of the supplier's currency; empty = not known. ``margin_percent`` is what a piece
    earns, in % of its price: the cost of waiting for a larger order hangs on it.
    """

    __tablename__ = "supplier_terms"
    __table_args__ = (
        UniqueConstraint("supplier_id"),
        *build_not_negative_checks(
            "smallest_order_minor", "free_freight_from_minor", "freight_minor", "margin_percent"
        ),
    )

    id: int | None = build_primary_key()
    supplier_id: int = build_reference("supplier.id")
    smallest_order_minor: int | None = None
    free_freight_from_minor: int | None = None
    freight_minor: int | None = None
    margin_percent: float | None = None
    note: str | None = None
    made_by: str | None = None
    made_at_utc: datetime


class Offer(SQLModel, table=True):
    """A supplier's price for a part from a minimum quantity on; several rows make price breaks."""

    __tablename__ = "offer"
    __table_args__ = (
        UniqueConstraint(
            "supplier_id", "part_id", "supplier_sku", "pack_size", "minimum_quantity", "seen_on"
        ),
        *build_not_negative_checks("price_minor", "lead_time_days"),
        *build_positive_checks("pack_size", "minimum_quantity"),
    )

    id: int | None = build_primary_key()
    supplier_id: int = build_reference("supplier.id")
    part_id: int = build_reference("part.id", index=True)
    supplier_sku: str | None = None
    price_minor: int | None = None
    currency: str | None = None
    pack_size: int | None = None
    minimum_quantity: int | None = None
    lead_time_days: int | None = None
    seen_on: date | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Location(SQLModel, table=True):
    """A place that keeps stock: a shop, a branch, a van."""

    __tablename__ = "location"

    id: int | None = build_primary_key()
    location: str = Field(unique=True)
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class StockLevel(SQLModel, table=True):
    """Pieces of a part at a location: on hand (the sum of the movements) and set aside for jobs."""

    __tablename__ = "stock_level"
    __table_args__ = (
        UniqueConstraint("location_id", "part_id"),
        *build_not_negative_checks("on_hand", "committed"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id", index=True)
    on_hand: int = 0
    committed: int = 0


class StockMovement(SQLModel, table=True):
    """One line of the ledger; never changed, never removed. ``quantity`` is signed.

    A move between places is two lines, each naming the other place; together they sum to nothing.
    """

    __tablename__ = "stock_movement"
    __table_args__ = (
        build_word_check("kind", MOVEMENT_KINDS),
        CheckConstraint("quantity <> 0 OR kind = 'count'", name="quantity_moves"),
        CheckConstraint("kind NOT IN ('receive', 'return') OR quantity > 0", name="in_is_positive"),
        CheckConstraint("kind NOT IN ('issue', 'write_off') OR quantity < 0", name="out_is_negative"),
        CheckConstraint("(kind = 'move') = (other_location_id IS NOT NULL)", name="move_has_other_place"),
        Index("ix_stock_movement_part_location", "part_id", "location_id"),
        Index("ix_stock_movement_part", "part_id", "id"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id")
    kind: str
    quantity: int
    other_location_id: int | None = build_reference("location.id", nullable=True)
    note: str | None = None
    made_by: str | None = None
    made_at_utc: datetime
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class StockCount(SQLModel, table=True):
    """A counted quantity as a stock sheet states it; the difference is booked as a movement."""

    __tablename__ = "stock_count"
    __table_args__ = (
        UniqueConstraint("location_id", "part_id", "counted_on"),
        *build_not_negative_checks("on_hand"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id", index=True)
    on_hand: int
    counted_on: date | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Demand(SQLModel, table=True):
    """Pieces asked for at a location on a day; several issues on one day are numbered."""

    __tablename__ = "demand"
    __table_args__ = (
        UniqueConstraint("location_id", "part_id", "asked_on", "number_of_day"),
        *build_positive_checks("number_of_day"),
        Index("ix_demand_part_location_date", "part_id", "location_id", "asked_on"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id")
    asked_on: date
    number_of_day: int
    quantity: int
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class UnmetRequest(SQLModel, table=True):
    """Pieces asked for that the shelf did not have: demand that no issue shows."""

    __tablename__ = "unmet_request"
    __table_args__ = (
        *build_positive_checks("quantity"),
        Index("ix_unmet_request_part_location_date", "part_id", "location_id", "asked_on"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id")
    asked_on: date
    quantity: int
    note: str | None = None
    made_by: str | None = None
    made_at_utc: datetime


class ExcludedDemand(SQLModel, table=True):
    """Pieces of a day that a person took out of the demand, such as a one-off bulk sale; who and why."""

    __tablename__ = "excluded_demand"
    __table_args__ = (
        *build_positive_checks("quantity"),
        Index("ix_excluded_demand_part_location_date", "part_id", "location_id", "asked_on"),
    )

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id")
    asked_on: date
    quantity: int
    why: str
    made_by: str
    made_at_utc: datetime


class DemandMonth(SQLModel, table=True):
    """Pieces asked for of a part at a place in a month: the sum of the rows of demand, made from them.

    Kept so that a whole shelf is judged in a second; ``check`` compares it with the rows. It refers to
    nothing, since it only repeats. ``month`` counts months since year 0: year * 12 + month - 1.
    """

    __tablename__ = "demand_month"
    __table_args__ = (
        UniqueConstraint("part_id", "month", "location_id"),
        Index("ix_demand_month_sums", "part_id", "month", "location_id", "pieces"),
    )

    id: int | None = build_primary_key()
    location_id: int
    part_id: int
    month: int
    pieces: int


class DemandTypeMonth(SQLModel, table=True):
    """Pieces of all parts of a type in a month, at all places: what the riding season is read from."""

    __tablename__ = "demand_type_month"
    __table_args__ = (UniqueConstraint("part_type", "month"),)

    id: int | None = build_primary_key()
    part_type: str
    month: int
    pieces: int


class StockOut(SQLModel, table=True):
    """A spell in which a place had no piece of a part that it had before; open while ``until`` is empty."""

    __tablename__ = "stock_out"
    __table_args__ = (Index("ix_stock_out_part_location", "part_id", "location_id"),)

    id: int | None = build_primary_key()
    location_id: int = build_reference("location.id")
    part_id: int = build_reference("part.id")
    from_date: date
    until_date: date | None = None


class ManualLevel(SQLModel, table=True):
    """A stock level set by a person instead of the computed one; without a place it is for the whole shop."""

    __tablename__ = "manual_level"
    __table_args__ = (
        *build_not_negative_checks("level"),
        UniqueConstraint("part_id", "location_id"),
    )

    id: int | None = build_primary_key()
    part_id: int = build_reference("part.id")
    location_id: int | None = build_reference("location.id", nullable=True)
    level: int
    why: str
    made_by: str
    made_at_utc: datetime
