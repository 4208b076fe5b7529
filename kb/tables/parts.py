"""Parts, what each source says of them, where they fit, and what replaces what."""

from datetime import date

from sqlalchemy import CheckConstraint, Index, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_partial_index,
    build_positive_checks,
    build_primary_key,
    build_reference,
    build_word_check,
)
from kb.terms import LengthKind, Outcome, PartStatus, PartType, Position, ReplacementKind


class Maker(SQLModel, table=True):
    """Who makes a part. ``maker_key`` is the name without case and punctuation."""

    __tablename__ = "maker"

    id: int | None = build_primary_key()
    maker: str
    maker_key: str = Field(unique=True)
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Part(SQLModel, table=True):
    """One orderable article: maker and part number.

    ``part_number`` is the number as given; ``part_number_key`` its letters and digits in upper case.
    """

    __tablename__ = "part"
    __table_args__ = (
        UniqueConstraint("maker_id", "part_number"),
        build_word_check("part_type", PartType),
    )

    id: int | None = build_primary_key()
    maker_id: int = build_reference("maker.id")
    part_number: str
    part_number_key: str = Field(index=True)
    part_type: str
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


def _build_known_index(name: str, *columns: str) -> Index:
    """Index of the rows in which the first of the columns is known."""
    return build_partial_index(name, *columns, where=f"{columns[0]} IS NOT NULL")


class PartRecord(SQLModel, table=True):
    """What one source says of a part: description, status and the sizes that decide fit."""

    __tablename__ = "part_record"
    __table_args__ = (
        UniqueConstraint("part_id", "source_id"),
        build_word_check("status", PartStatus),
        build_word_check("length_kind", LengthKind),
        *build_positive_checks(
            "length_mm",
            "top_width_mm",
            "angle_deg",
            "thickness_mm",
            "diameter_mm",
            "width_mm",
            "mass_g",
            "count",
            "rated_rpm",
            "free_length_mm",
            "wire_mm",
            "coil_mm",
            "active_coils",
            "outside_mm",
            "across_flats_mm",
        ),
        *build_not_negative_checks("bore_mm"),
        # The range queries that narrow the parts that may do before the rules judge each.
        # That of belts, the most numerous, holds all that is compared, so that rows need not be visited.
        _build_known_index(
            "ix_part_record_belt_size",
            *("length_mm", "top_width_mm", "angle_deg", "thickness_mm", "length_kind", "part_id"),
        ),
        _build_known_index("ix_part_record_roller_size", "diameter_mm", "width_mm"),
        _build_known_index("ix_part_record_envelope", "bore_mm", "outside_mm"),
        _build_known_index("ix_part_record_rated_rpm", "rated_rpm"),
        _build_known_index("ix_part_record_coil_mm", "coil_mm"),
        _build_known_index("ix_part_record_thread", "thread"),
        _build_known_index("ix_part_record_gtin", "gtin"),
    )

    id: int | None = build_primary_key()
    part_id: int = build_reference("part.id")
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
    description: str | None = None
    gtin: str | None = None
    status: str | None = None
    length_mm: float | None = None
    length_kind: str | None = None
    top_width_mm: float | None = None
    angle_deg: float | None = None
    thickness_mm: float | None = None
    diameter_mm: float | None = None
    width_mm: float | None = None
    mass_g: float | None = None
    count: int | None = None
    rated_rpm: float | None = None
    free_length_mm: float | None = None
    wire_mm: float | None = None
    coil_mm: float | None = None
    active_coils: float | None = None
    bore_mm: float | None = None
    outside_mm: float | None = None
    clearance: str | None = None
    form: str | None = None
    thread: str | None = None
    across_flats_mm: float | None = None


class Fit(SQLModel, table=True):
    """A statement by somebody that a part did or did not fit an engine at a position."""

    __tablename__ = "fit"
    __table_args__ = (
        UniqueConstraint("part_id", "engine_id", "position", "source_id", "outcome", "seen_on"),
        build_word_check("position", Position),
        build_word_check("outcome", Outcome),
        Index("ix_fit_engine_position", "engine_id", "position"),
    )

    id: int | None = build_primary_key()
    part_id: int = build_reference("part.id")
    engine_id: int = build_reference("engine.id")
    position: str
    outcome: str
    note: str | None = None
    seen_on: date | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Replacement(SQLModel, table=True):
    """``by_part`` stands in for ``part``: supersedes it, has the same size, or is a substitute."""

    __tablename__ = "replacement"
    __table_args__ = (
        UniqueConstraint("part_id", "by_part_id", "kind", "source_id"),
        build_word_check("kind", ReplacementKind),
        CheckConstraint("part_id <> by_part_id", name="not_itself"),
        # A part number has one successor; who wants two names one of them a substitute.
        build_partial_index(
            "uq_replacement_one_successor", "part_id", "source_id", where="kind = 'supersedes'", unique=True
        ),
    )

    id: int | None = build_primary_key()
    part_id: int = build_reference("part.id")
    by_part_id: int = build_reference("part.id", index=True)
    kind: str
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class TradeName(SQLModel, table=True):
    """A word that people use for a part type."""

    __tablename__ = "trade_name"
    __table_args__ = (
        UniqueConstraint("part_type", "name"),
        build_word_check("part_type", PartType),
    )

    id: int | None = build_primary_key()
    part_type: str
    name: str
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
