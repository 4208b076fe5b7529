"""Orders to suppliers, parts set aside for a machine, and requests that were answered already."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_positive_checks,
    build_primary_key,
    build_reference,
    build_word_check,
)
from kb.terms import Position

ORDER_STATES = ("draft", "approved", "sent", "closed", "cancelled")
MACHINE_JOB_STATES = ("open", "closed", "cancelled")


class PurchaseOrder(SQLModel, table=True):
    """An order to a supplier. The program sends nothing: ``sent`` is what a person says was done."""

    __tablename__ = "purchase_order"
    __table_args__ = (
        build_word_check("state", ORDER_STATES),
        Index("ix_purchase_order_state_name", "state", "order_name"),
    )

    id: int | None = build_primary_key()
    order_name: str = Field(unique=True)
    supplier_id: int = build_reference("supplier.id", index=True)
    location_id: int = build_reference("location.id")
    state: str
    note: str | None = None
    made_by: str | None = None
    made_at_utc: datetime
    approved_by: str | None = None
    sent_on: date | None = None


class PurchaseOrderLine(SQLModel, table=True):
    """Pieces of a part on an order; ``open`` pieces are ``quantity - received - cancelled``."""

    __tablename__ = "purchase_order_line"
    __table_args__ = (
        UniqueConstraint("order_id", "part_id"),
        *build_positive_checks("quantity"),
        *build_not_negative_checks("received", "cancelled", "unit_price_minor"),
        CheckConstraint("received + cancelled <= quantity", name="not_more_than_ordered"),
    )

    id: int | None = build_primary_key()
    order_id: int = build_reference("purchase_order.id")
    part_id: int = build_reference("part.id", index=True)
    quantity: int
    received: int = 0
    cancelled: int = 0
    unit_price_minor: int | None = None
    currency: str | None = None
    supplier_sku: str | None = None
    due_on: date | None = None
    why: str | None = None


class MachineJob(SQLModel, table=True):
    """A job on one machine, for which parts may be set aside. ``machine`` is what the shop calls it."""

    __tablename__ = "machine_job"
    __table_args__ = (
        build_word_check("state", MACHINE_JOB_STATES),
        Index("ix_machine_job_state", "state", "id"),
        Index("ix_machine_job_ended", "ended_at_utc", "id"),
    )

    id: int | None = build_primary_key()
    machine: str
    job_id: int | None = build_reference("job.id", nullable=True)
    engine_id: int | None = build_reference("engine.id", nullable=True)
    location_id: int = build_reference("location.id")
    state: str
    note: str | None = None
    made_by: str | None = None
    made_at_utc: datetime
    ended_at_utc: datetime | None = None


class SetAside(SQLModel, table=True):
    """Pieces set aside for a job on a machine; ``quantity - used - freed`` of them still wait."""

    __tablename__ = "set_aside"
    __table_args__ = (
        build_word_check("position", Position),
        *build_positive_checks("quantity"),
        *build_not_negative_checks("used", "freed"),
        CheckConstraint("used + freed <= quantity", name="not_more_than_set_aside"),
    )

    id: int | None = build_primary_key()
    machine_job_id: int = build_reference("machine_job.id", index=True)
    part_id: int = build_reference("part.id", index=True)
    position: str | None = None
    quantity: int
    used: int = 0
    freed: int = 0


class AnsweredRequest(SQLModel, table=True):
    """A posting that was answered, with its answer, so that its repetition books nothing a second time."""

    __tablename__ = "answered_request"

    id: int | None = build_primary_key()
    request_key: str = Field(unique=True)
    caller: str
    operation: str
    digest_sha256: str
    status: int | None = None
    body: str | None = Field(default=None, sa_type=Text)
    made_at_utc: datetime = Field(index=True)
