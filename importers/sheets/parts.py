"""Sheets of parts, fit records, replacements and trade names."""

from collections.abc import Iterator

from importers.columns import Column, Gtin, IsoDate, Name, Number, PartNumber, build_word
from importers.sheets import needs
from importers.sheets.sheet import (
    ENGINE_COLUMN,
    MAKER_COLUMN,
    NOTE,
    PART_NUMBER_COLUMN,
    SOURCE_COLUMN,
    WORDS,
    Sheet,
    check_order,
)
from kb.edits.parts import close_parts, prepare_parts
from kb.edits.replacements import prepare_replacements, refuse_loops
from kb.edits.target import ENGINE, SOURCE, NameReference, PartReference, Target, Values
from kb.terms import LengthKind, Outcome, PartStatus, PartType, Position, ReplacementKind


def _check_part(values: Values) -> Iterator[tuple[str, str]]:
    yield from needs.check_belt(values)
    yield from check_order(values, "wire_mm", "coil_mm")


_RECORD_COLUMNS = (
    Column("description", NOTE),
    Column("gtin", Gtin()),
    Column("status", build_word(PartStatus)),
    Column("length_mm", needs.BELT_LENGTH_MM),
    Column("length_kind", build_word(LengthKind)),
    Column("top_width_mm", needs.BELT_WIDTH_MM),
    Column("angle_deg", needs.ANGLE_DEG),
    Column("thickness_mm", needs.BELT_WIDTH_MM),
    Column("diameter_mm", needs.SIZE_MM),
    Column("width_mm", needs.SIZE_MM),
    Column("mass_g", needs.ROLLER_MASS_G),
    Column("count", needs.COUNT),
    Column("rated_rpm", needs.SPEED_RPM),
    Column("free_length_mm", needs.SPRING_LENGTH_MM),
    Column("wire_mm", Number(0, 30, "mm", above=True)),
    Column("coil_mm", Number(0, 200, "mm", above=True)),
    Column("active_coils", needs.COILS),
    Column("bore_mm", Number(0, 500, "mm")),
    Column("outside_mm", needs.SIZE_MM),
    Column("clearance", WORDS),
    Column("form", WORDS),
    Column("thread", WORDS),
    Column("across_flats_mm", Number(0, 200, "mm", above=True)),
)

PARTS = Sheet(
    kind="parts",
    columns=(
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        Column("part_type", build_word(PartType)),
        *_RECORD_COLUMNS,
        SOURCE_COLUMN,
    ),
    target=Target(
        table="part_record",
        identity=("part_id", "source_id"),
        probe="part_id",
        values=tuple(column.name for column in _RECORD_COLUMNS),
        names=(
            NameReference(column="maker", id_column="maker_id", table="maker", noun="Maker", on_demand=True),
            SOURCE,
        ),
        prepare=prepare_parts,
        close=close_parts,
    ),
    check=_check_part,
)

FITS = Sheet(
    kind="fits",
    columns=(
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        ENGINE_COLUMN,
        Column("position", build_word(Position), required=True),
        Column("outcome", build_word(Outcome), required=True),
        Column("note", NOTE),
        Column("seen_on", IsoDate()),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="fit",
        identity=("part_id", "engine_id", "position", "source_id", "outcome", "seen_on"),
        probe="part_id",
        values=("note",),
        names=(ENGINE, SOURCE),
        parts=(PartReference(),),
    ),
)

REPLACEMENTS = Sheet(
    kind="replacements",
    columns=(
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        Column("by_maker", Name(), required=True),
        Column("by_part_number", PartNumber(), required=True),
        Column(
            "kind",
            build_word(ReplacementKind),
            required=True,
            remedy="supersedes (it takes the place of the old number), same_size, or substitute",
        ),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="replacement",
        identity=("part_id", "by_part_id", "kind", "source_id"),
        probe="part_id",
        values=(),
        names=(SOURCE,),
        parts=(
            PartReference(),
            PartReference(maker="by_maker", part_number="by_part_number", id_column="by_part_id"),
        ),
        prepare=prepare_replacements,
        finish=refuse_loops,
    ),
)

TRADE_NAMES = Sheet(
    kind="trade_names",
    columns=(
        Column("part_type", build_word(PartType), required=True),
        Column("name", Name(), required=True),
    ),
    target=Target(table="trade_name", identity=("part_type", "name"), probe="part_type", values=()),
)
