"""Engines, what tells them apart, the vehicles they sit in, and their belt drives."""

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_positive_checks,
    build_primary_key,
    build_reference,
)


class Family(SQLModel, table=True):
    """Engines with the same crankcase and drive layout."""

    __tablename__ = "family"

    id: int | None = build_primary_key()
    family: str = Field(unique=True)
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Engine(SQLModel, table=True):
    """One engine variant: the thing that decides which parts fit. ``engine`` is its short code."""

    __tablename__ = "engine"
    __table_args__ = (
        CheckConstraint("engine = lower(engine)", name="engine_lower_case"),
        CheckConstraint("strokes IN (2, 4)", name="strokes_known"),
        *build_positive_checks("bore_mm", "stroke_mm"),
    )

    id: int | None = build_primary_key()
    engine: str = Field(unique=True)
    family_id: int | None = build_reference("family.id", index=True, nullable=True)
    name: str | None = None
    designation: str | None = Field(default=None, index=True)
    strokes: int | None = None
    cooling: str | None = None
    bore_mm: float | None = None
    stroke_mm: float | None = None
    note: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Feature(SQLModel, table=True):
    """Something that tells engines apart: a number with its unit, or a word; no value is "not known"."""

    __tablename__ = "feature"
    __table_args__ = (UniqueConstraint("engine_id", "quantity", "source_id"),)

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    quantity: str
    value: str | None = None
    unit: str | None = None
    how: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Vehicle(SQLModel, table=True):
    """A make and model that an engine sits in, with its years."""

    __tablename__ = "vehicle"
    __table_args__ = (
        CheckConstraint("year_to >= year_from", name="years_in_order"),
        UniqueConstraint("make", "model", "engine_id", "year_from", "year_to", "source_id"),
    )

    id: int | None = build_primary_key()
    make: str
    model: str
    year_from: int | None = None
    year_to: int | None = None
    engine_id: int = build_reference("engine.id", index=True)
    note: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Drive(SQLModel, table=True):
    """Both pulleys and the speeds of one engine as one source states them; angles are included angles."""

    __tablename__ = "drive"
    __table_args__ = (
        UniqueConstraint("engine_id", "source_id"),
        *build_positive_checks(
            "centre_distance_mm",
            "drive_angle_deg",
            "drive_outer_radius_mm",
            "drive_boss_radius_mm",
            "drive_gap_radius_mm",
            "driven_angle_deg",
            "driven_outer_radius_mm",
            "driven_boss_radius_mm",
            "driven_gap_radius_mm",
            "final_reduction",
        ),
        *build_not_negative_checks(
            "cord_depth_mm",
            "drive_gap_open_mm",
            "drive_gap_closed_mm",
            "driven_gap_open_mm",
            "driven_gap_closed_mm",
        ),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    centre_distance_mm: float | None = None
    cord_depth_mm: float | None = None
    drive_angle_deg: float | None = None
    drive_outer_radius_mm: float | None = None
    drive_boss_radius_mm: float | None = None
    drive_gap_radius_mm: float | None = None
    drive_gap_open_mm: float | None = None
    drive_gap_closed_mm: float | None = None
    driven_angle_deg: float | None = None
    driven_outer_radius_mm: float | None = None
    driven_boss_radius_mm: float | None = None
    driven_gap_radius_mm: float | None = None
    driven_gap_open_mm: float | None = None
    driven_gap_closed_mm: float | None = None
    final_reduction: float | None = None
    tyre: str | None = None
    idle_rpm: float | None = None
    clutch_rpm: float | None = None
    shift_rpm: float | None = None
    max_rpm: float | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
