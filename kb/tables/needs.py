"""What an engine asks for at each position: sizes, limits of wear, fasteners. One row per source."""

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import SQLModel

from kb.tables.columns import (
    build_not_negative_checks,
    build_positive_checks,
    build_primary_key,
    build_reference,
    build_word_check,
)
from kb.terms import FastenerDrive, Hand, LengthKind, LimitSense, Position

SPRING_POSITIONS = (Position.CLUTCH_SPRINGS, Position.CONTRA_SPRING)


class BeltNeed(SQLModel, table=True):
    """The belt that an engine asks for, and the top width at which it is worn out."""

    __tablename__ = "belt_need"
    __table_args__ = (
        UniqueConstraint("engine_id", "source_id"),
        build_word_check("length_kind", LengthKind),
        *build_positive_checks(
            "length_mm", "top_width_mm", "angle_deg", "thickness_mm", "top_width_limit_mm"
        ),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    length_mm: float | None = None
    length_kind: str | None = None
    top_width_mm: float | None = None
    angle_deg: float | None = None
    thickness_mm: float | None = None
    top_width_limit_mm: float | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class RollerNeed(SQLModel, table=True):
    """The rollers that an engine asks for; mass of one roller."""

    __tablename__ = "roller_need"
    __table_args__ = (
        UniqueConstraint("engine_id", "source_id"),
        *build_positive_checks("diameter_mm", "width_mm", "mass_g", "count", "diameter_limit_mm"),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    diameter_mm: float | None = None
    width_mm: float | None = None
    mass_g: float | None = None
    count: int | None = None
    diameter_limit_mm: float | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class SpringNeed(SQLModel, table=True):
    """The clutch springs or the contra spring that an engine asks for; coil is the mean coil diameter."""

    __tablename__ = "spring_need"
    __table_args__ = (
        UniqueConstraint("engine_id", "position", "source_id"),
        build_word_check("position", SPRING_POSITIONS),
        *build_positive_checks(
            "count",
            "rated_rpm",
            "free_length_mm",
            "free_length_limit_mm",
            "wire_mm",
            "coil_mm",
            "active_coils",
            "installed_length_mm",
            "shortest_length_mm",
            "outer_space_mm",
        ),
        *build_not_negative_checks("inner_space_mm"),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    position: str
    count: int | None = None
    rated_rpm: float | None = None
    free_length_mm: float | None = None
    free_length_limit_mm: float | None = None
    wire_mm: float | None = None
    coil_mm: float | None = None
    active_coils: float | None = None
    installed_length_mm: float | None = None
    shortest_length_mm: float | None = None
    outer_space_mm: float | None = None
    inner_space_mm: float | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class SizeNeed(SQLModel, table=True):
    """The bearing, seal or o-ring that an engine asks for at a position."""

    __tablename__ = "size_need"
    __table_args__ = (
        UniqueConstraint("engine_id", "position", "source_id"),
        build_word_check("position", Position),
        *build_positive_checks("bore_mm", "outside_mm", "width_mm"),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    position: str
    bore_mm: float | None = None
    outside_mm: float | None = None
    width_mm: float | None = None
    clearance: str | None = None
    form: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class WearLimit(SQLModel, table=True):
    """Nominal value and limit of a quantity that wears."""

    __tablename__ = "wear_limit"
    __table_args__ = (
        UniqueConstraint("engine_id", "position", "quantity", "source_id"),
        build_word_check("position", Position),
        build_word_check("sense", LimitSense),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    position: str
    quantity: str
    nominal: float | None = None
    limit: float | None = None
    sense: str | None = None
    unit: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Fastener(SQLModel, table=True):
    """A nut or screw of an engine: thread, hand, tool size, torque as one source states them."""

    __tablename__ = "fastener"
    __table_args__ = (
        UniqueConstraint("engine_id", "position", "source_id"),
        build_word_check("position", Position),
        build_word_check("hand", Hand),
        build_word_check("drive", FastenerDrive),
        CheckConstraint("torque_max_nm >= torque_min_nm", name="torque_in_order"),
        *build_positive_checks("across_flats_mm", "count", "torque_min_nm", "torque_nm", "torque_max_nm"),
    )

    id: int | None = build_primary_key()
    engine_id: int = build_reference("engine.id")
    position: str
    thread: str | None = None
    hand: str | None = None
    drive: str | None = None
    across_flats_mm: float | None = None
    count: int | None = None
    torque_min_nm: float | None = None
    torque_nm: float | None = None
    torque_max_nm: float | None = None
    locking: str | None = None
    single_use: bool | None = None
    holding: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
