"""The bench book: machines of customers, and what was measured on them over time."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_primary_key,
    build_reference,
    build_word_check,
)
from kb.terms import Position


class Machine(SQLModel, table=True):
    """One scooter: a plate or a free label, and its engine. ``label_key`` is the label as it is looked up."""

    __tablename__ = "machine"

    id: int | None = build_primary_key()
    label: str
    label_key: str = Field(unique=True)
    engine_id: int = build_reference("engine.id", index=True)
    note: str | None = None
    made_at_utc: datetime


class Reading(SQLModel, table=True):
    """One line of the bench book: a measured value, the fitting of a new part, or both.

    Lines are never changed; their order is that of ``id``. ``entry_key`` is what the writer named the line,
    else a digest of what it says, so that the same line sent twice is written once.
    """

    __tablename__ = "reading"
    __table_args__ = (
        build_word_check("position", Position),
        *build_not_negative_checks("value", "odometer_km"),
        CheckConstraint("value IS NOT NULL OR replaced", name="says_something"),
        Index("ix_reading_machine_position", "machine_id", "position", "quantity"),
    )

    id: int | None = build_primary_key()
    machine_id: int = build_reference("machine.id")
    position: str
    quantity: str
    value: float | None = None
    unit: str | None = None
    odometer_km: float | None = None
    taken_on: date | None = None
    replaced: bool = False
    note: str | None = None
    entry_key: str = Field(unique=True)
    made_at_utc: datetime
