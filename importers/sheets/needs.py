"""Sheets of what engines ask for: belts, rollers, springs, bearings and seals, wear limits, fasteners."""

from collections.abc import Iterator

from importers.columns import Column, Flag, Name, Number, WholeNumber, build_word
from importers.sheets.sheet import ENGINE_COLUMN, NOTE, SOURCE_COLUMN, WORDS, Sheet, check_order
from kb.edits.fasteners import prepare_fasteners
from kb.edits.target import ENGINE, SOURCE, Target, Values
from kb.terms import FastenerDrive, Hand, LengthKind, LimitSense, Position

BELT_LENGTH_MM = Number(0, 3_000, "mm", above=True)
BELT_WIDTH_MM = Number(0, 100, "mm", above=True)
ANGLE_DEG = Number(0, 90, "°", above=True)
SIZE_MM = Number(0, 500, "mm", above=True)
ROLLER_MASS_G = Number(0.4, 100, "g")
SPRING_LENGTH_MM = Number(0, 500, "mm", above=True)
SPEED_RPM = Number(0, 30_000, "r/min", above=True)
COILS = Number(0, 100, above=True)
COUNT = WholeNumber(1, 1_000)
TORQUE_NM = Number(0, 400, "N·m", above=True)
SHORTEST_LENGTH_IN_WIDTHS = 5
SPRING_POSITIONS = (Position.CLUTCH_SPRINGS, Position.CONTRA_SPRING)


def check_belt(values: Values) -> Iterator[tuple[str, str]]:
    """Refuse a belt shorter than five top widths: length and width are then mixed up."""
    length, width = values["length_mm"], values["top_width_mm"]
    if length is not None and width is not None and length < SHORTEST_LENGTH_IN_WIDTHS * width:
        yield (
            "length_mm",
            f"length_mm {length:g} is less than {SHORTEST_LENGTH_IN_WIDTHS} times top_width_mm {width:g}; "
            "check whether the two are mixed up.",
        )


def _check_belt_need(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_belt(values)
    yield from check_order(values, "top_width_limit_mm", "top_width_mm")


BELT_NEEDS = Sheet(
    kind="belt_needs",
    columns=(
        ENGINE_COLUMN,
        Column("length_mm", BELT_LENGTH_MM),
        Column("length_kind", build_word(LengthKind)),
        Column("top_width_mm", BELT_WIDTH_MM),
        Column("angle_deg", ANGLE_DEG),
        Column("thickness_mm", BELT_WIDTH_MM),
        Column("top_width_limit_mm", BELT_WIDTH_MM),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="belt_need",
        identity=("engine_id", "source_id"),
        probe="engine_id",
        values=(
            "length_mm",
            "length_kind",
            "top_width_mm",
            "angle_deg",
            "thickness_mm",
            "top_width_limit_mm",
        ),
        names=(ENGINE, SOURCE),
    ),
    check=_check_belt_need,
)


def _check_roller_need(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_order(values, "diameter_limit_mm", "diameter_mm")


ROLLER_NEEDS = Sheet(
    kind="roller_needs",
    columns=(
        ENGINE_COLUMN,
        Column("diameter_mm", SIZE_MM),
        Column("width_mm", SIZE_MM),
        Column("mass_g", ROLLER_MASS_G),
        Column("count", COUNT),
        Column("diameter_limit_mm", SIZE_MM),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="roller_need",
        identity=("engine_id", "source_id"),
        probe="engine_id",
        values=("diameter_mm", "width_mm", "mass_g", "count", "diameter_limit_mm"),
        names=(ENGINE, SOURCE),
    ),
    check=_check_roller_need,
)


def _check_spring_need(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_order(values, "wire_mm", "coil_mm")
    yield from check_order(values, "inner_space_mm", "outer_space_mm")
    if values["position"] == Position.CONTRA_SPRING:  # clutch springs are pulled, not pressed
        yield from check_order(values, "shortest_length_mm", "installed_length_mm", "free_length_mm")


_SPRING_SIZES = (
    Column("count", COUNT),
    Column("rated_rpm", SPEED_RPM),
    Column("free_length_mm", SPRING_LENGTH_MM),
    Column("free_length_limit_mm", SPRING_LENGTH_MM),
    Column("wire_mm", Number(0, 30, "mm", above=True)),
    Column("coil_mm", Number(0, 200, "mm", above=True)),
    Column("active_coils", COILS),
    Column("installed_length_mm", SPRING_LENGTH_MM),
    Column("shortest_length_mm", SPRING_LENGTH_MM),
    Column("outer_space_mm", SIZE_MM),
    Column("inner_space_mm", Number(0, 500, "mm")),
)

SPRING_NEEDS = Sheet(
    kind="spring_needs",
    columns=(
        ENGINE_COLUMN,
        Column("position", build_word(SPRING_POSITIONS), required=True),
        *_SPRING_SIZES,
        SOURCE_COLUMN,
    ),
    target=Target(
        table="spring_need",
        identity=("engine_id", "position", "source_id"),
        probe="engine_id",
        values=tuple(column.name for column in _SPRING_SIZES),
        names=(ENGINE, SOURCE),
    ),
    check=_check_spring_need,
)

SIZE_NEEDS = Sheet(
    kind="size_needs",
    columns=(
        ENGINE_COLUMN,
        Column("position", build_word(Position), required=True),
        Column("bore_mm", SIZE_MM),
        Column("outside_mm", SIZE_MM),
        Column("width_mm", SIZE_MM),
        Column("clearance", WORDS),
        Column("form", WORDS),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="size_need",
        identity=("engine_id", "position", "source_id"),
        probe="engine_id",
        values=("bore_mm", "outside_mm", "width_mm", "clearance", "form"),
        names=(ENGINE, SOURCE),
    ),
)


def _check_wear_limit(values: Values) -> Iterator[tuple[str, str]]:
    if values["sense"] == LimitSense.MIN:
        yield from check_order(values, "limit", "nominal")
    if values["sense"] == LimitSense.MAX:
        yield from check_order(values, "nominal", "limit")


WEAR_LIMITS = Sheet(
    kind="wear_limits",
    columns=(
        ENGINE_COLUMN,
        Column("position", build_word(Position), required=True),
        Column("quantity", Name(), required=True),
        Column("nominal", Number(0, 100_000)),
        Column("limit", Number(0, 100_000)),
        Column("sense", build_word(LimitSense)),
        Column("unit", WORDS),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="wear_limit",
        identity=("engine_id", "position", "quantity", "source_id"),
        probe="engine_id",
        values=("nominal", "limit", "sense", "unit"),
        names=(ENGINE, SOURCE),
    ),
    check=_check_wear_limit,
)


def _check_fastener(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_order(values, "torque_min_nm", "torque_nm", "torque_max_nm")


_FASTENER_VALUES = (
    Column("thread", WORDS),
    Column("hand", build_word(Hand)),
    Column("drive", build_word(FastenerDrive)),
    Column("across_flats_mm", Number(0, 200, "mm", above=True)),
    Column("count", COUNT),
    Column("torque_min_nm", TORQUE_NM),
    Column("torque_nm", TORQUE_NM),
    Column("torque_max_nm", TORQUE_NM),
    Column("locking", WORDS),
    Column("single_use", Flag()),
    Column("holding", NOTE),
)

FASTENERS = Sheet(
    kind="fasteners",
    columns=(
        ENGINE_COLUMN,
        Column("position", build_word(Position), required=True),
        *_FASTENER_VALUES,
        SOURCE_COLUMN,
    ),
    target=Target(
        table="fastener",
        identity=("engine_id", "position", "source_id"),
        probe="engine_id",
        values=tuple(column.name for column in _FASTENER_VALUES),
        names=(ENGINE, SOURCE),
        prepare=prepare_fasteners,
    ),
    check=_check_fastener,
)
