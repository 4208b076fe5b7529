"""Sheets of engines, what tells them apart, vehicles and belt drives."""

import re
from collections.abc import Iterator

from importers.columns import Column, Name, Number, WholeNumber, WholeNumberOf
from importers.sheets.sheet import ENGINE_COLUMN, NOTE, SOURCE_COLUMN, WORDS, Sheet, check_order
from kb.edits.target import ENGINE, SOURCE, NameReference, Target, Values

LENGTH_MM = Number(0, 2_000, "mm", above=True)
RADIUS_MM = Number(0, 500, "mm", above=True)
GAP_MM = Number(0, 200, "mm")
ANGLE_DEG = Number(0, 90, "°", above=True)
SPEED_RPM = Number(0, 30_000, "r/min", above=True)
STROKES = WholeNumberOf((2, 4))
YEAR = WholeNumber(1885, 2199)


def _check_engine(values: Values) -> Iterator[tuple[str, str]]:
    if values["engine"] in (".", ".."):
        yield (
            "engine",
            f"'{values['engine']}' cannot stand in an address, so nobody could ask for this engine; "
            "give it a code with letters or digits.",
        )


ENGINES = Sheet(
    kind="engines",
    columns=(
        Column("engine", Name(lower_case=True), required=True),
        Column("family", Name()),
        Column("name", WORDS),
        Column("designation", WORDS),
        Column("strokes", STROKES),
        Column("cooling", WORDS),
        Column("bore_mm", Number(0, 200, "mm", above=True)),
        Column("stroke_mm", Number(0, 200, "mm", above=True)),
        Column("note", NOTE),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="engine",
        identity=("engine",),
        probe="engine",
        values=(
            "family_id",
            "name",
            "designation",
            "strokes",
            "cooling",
            "bore_mm",
            "stroke_mm",
            "note",
            "source_id",
        ),
        names=(
            NameReference(
                column="family", id_column="family_id", table="family", noun="Family", on_demand=True
            ),
            SOURCE,
        ),
    ),
    check=_check_engine,
)


def _check_feature(values: Values) -> Iterator[tuple[str, str]]:
    value = values["value"]
    if value is None or values["unit"] is None:
        return
    if re.fullmatch(r"-?[0-9]{1,15}(\.[0-9]{1,15})?", value) is None:
        yield (
            "value",
            f"'{value}' has the unit '{values['unit']}' but is not a number; "
            "write a number with a decimal point, or leave the unit empty.",
        )


FEATURES = Sheet(
    kind="features",
    columns=(
        ENGINE_COLUMN,
        Column("quantity", Name(), required=True),
        Column("value", WORDS),
        Column("unit", WORDS),
        Column("how", NOTE),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="feature",
        identity=("engine_id", "quantity", "source_id"),
        probe="engine_id",
        values=("value", "unit", "how"),
        names=(ENGINE, SOURCE),
    ),
    check=_check_feature,
)


def _check_vehicle(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_order(values, "year_from", "year_to")


VEHICLES = Sheet(
    kind="vehicles",
    columns=(
        Column("make", Name(), required=True),
        Column("model", Name(), required=True),
        Column("year_from", YEAR),
        Column("year_to", YEAR),
        ENGINE_COLUMN,
        Column("note", NOTE),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="vehicle",
        identity=("make", "model", "engine_id", "year_from", "year_to", "source_id"),
        probe="engine_id",
        values=("note",),
        names=(ENGINE, SOURCE),
    ),
    check=_check_vehicle,
)


def _check_drive(values: Values) -> Iterator[tuple[str, str]]:
    for pulley in ("drive", "driven"):
        yield from check_order(values, f"{pulley}_boss_radius_mm", f"{pulley}_outer_radius_mm")
        yield from check_order(values, f"{pulley}_gap_closed_mm", f"{pulley}_gap_open_mm")


_DRIVE_COLUMNS = (
    Column("centre_distance_mm", LENGTH_MM),
    Column("cord_depth_mm", Number(0, 30, "mm")),
    Column("drive_angle_deg", ANGLE_DEG),
    Column("drive_outer_radius_mm", RADIUS_MM),
    Column("drive_boss_radius_mm", RADIUS_MM),
    Column("drive_gap_radius_mm", RADIUS_MM),
    Column("drive_gap_open_mm", GAP_MM),
    Column("drive_gap_closed_mm", GAP_MM),
    Column("driven_angle_deg", ANGLE_DEG),
    Column("driven_outer_radius_mm", RADIUS_MM),
    Column("driven_boss_radius_mm", RADIUS_MM),
    Column("driven_gap_radius_mm", RADIUS_MM),
    Column("driven_gap_open_mm", GAP_MM),
    Column("driven_gap_closed_mm", GAP_MM),
    Column("final_reduction", Number(0, 100, above=True)),
    Column("tyre", WORDS),
    Column("idle_rpm", SPEED_RPM),
    Column("clutch_rpm", SPEED_RPM),
    Column("shift_rpm", SPEED_RPM),
    Column("max_rpm", SPEED_RPM),
)

DRIVES = Sheet(
    kind="drives",
    columns=(ENGINE_COLUMN, *_DRIVE_COLUMNS, SOURCE_COLUMN),
    target=Target(
        table="drive",
        identity=("engine_id", "source_id"),
        probe="engine_id",
        values=tuple(column.name for column in _DRIVE_COLUMNS),
        names=(ENGINE, SOURCE),
    ),
    check=_check_drive,
)
