"""Parts sheets: the part itself is made when first met; what a source says of it is the row compared.

The part type belongs to the part. A row that states none, or ``other``, says nothing of it: a part keeps the
type that it has, and one that is an ``other`` takes over the first type that a row states.
"""

from dataclasses import dataclass

from sqlalchemy import Table, select

from kb.edits.bulk import overwrite_rows
from kb.edits.catalogue import SheetEdit
from kb.edits.demand_months import refresh_type_months
from kb.edits.part_index import KnownPart
from kb.edits.problem import Problem
from kb.edits.target import InputRow, Values
from kb.edits.unstated import OTHER, forget_unstated, note_unstated, tell_unstated
from kb.tables.columns import get_table

_RETYPED = "retyped"

PartKey = tuple[int, str]


@dataclass(slots=True)
class _Met:
    """A part that rows name: its type as far as it is known, where that stands, the part as stored."""

    part_type: str
    line: int
    stored: KnownPart | None = None

    @property
    def is_retyped(self) -> bool:
        return self.stored is not None and self.stored.part_type != self.part_type

    @property
    def where(self) -> str:
        return "is stored" if self.stored and not self.is_retyped else f"stands in line {self.line}"


def prepare_parts(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with their part's id; parts that are not stored are made, a second part type is refused."""
    sheet.edit.parts.read(row.values["part_number"] for row in rows)
    met: dict[PartKey, _Met] = {}
    kept = [row for row in rows if _takes_type(sheet, row, met)]
    _add_missing(sheet, met)
    _change_types(sheet, [part for part in met.values() if part.is_retyped])
    for row in kept:
        _replace_by_id(sheet, row, met)
    return kept


def close_parts(sheet: SheetEdit) -> None:
    """Tell which parts state no type; count the demand of types anew where a part has another one now."""
    if sheet.memory.get(_RETYPED):
        refresh_type_months(sheet.edit.connection)
    tell_unstated(
        sheet, "part_type", noun="part", meaning="whether they fit is then known from fit records only"
    )


def _takes_type(sheet: SheetEdit, row: InputRow, met: dict[PartKey, _Met]) -> bool:
    """Whether a row states the type of its part, or none; the first that is stated holds."""
    key = (row.values["maker_id"], row.values["part_number"])
    said = row.values["part_type"] or OTHER
    if key not in met:
        stored = sheet.edit.parts.find_exact(*key)
        met[key] = _Met(stored.part_type if stored else said, row.line, stored)
    part = met[key]
    if said in (OTHER, part.part_type):
        return True
    if part.part_type == OTHER:
        part.part_type, part.line = said, row.line
        return True
    message = (
        f"Part '{key[1]}' {part.where} as '{part.part_type}', here it is '{said}'; "
        "a part has one part type; correct one of them."
    )
    sheet.refuse(Problem(row.line, "part_type", said, message))
    return False


def _add_missing(sheet: SheetEdit, met: dict[PartKey, _Met]) -> None:
    index = sheet.edit.parts
    missing: list[Values] = [
        {
            "maker_id": maker_id,
            "part_number": number,
            "part_number_key": index.get_key(number),
            "part_type": part.part_type,
        }
        for (maker_id, number), part in met.items()
        if part.stored is None
    ]
    if missing:
        sheet.edit.batch.add_rows(_get_part_table(), missing)
        index.read_again()


def _change_types(sheet: SheetEdit, parts: list[_Met]) -> None:
    """Give stored parts the types that rows state; what this import itself added needs no journal."""
    if not parts:
        return
    table, batch, connection = _get_part_table(), sheet.edit.batch, sheet.edit.connection
    last_id = batch.find_last_id_before(table)
    by_id = {part.stored.id: part for part in parts if part.stored is not None}
    own = [(row_id, {"part_type": part.part_type}) for row_id, part in by_id.items() if row_id > last_id]
    overwrite_rows(connection, table, own)
    known = [row_id for row_id in by_id if row_id <= last_id]
    if not known:
        return
    owners = select(table.c.id, table.c.batch_id).where(table.c.id.in_(known))
    sheet.edit.look_up.forget("part", [{"id": row_id} for row_id in known])
    batch.change_rows(
        table,
        [
            (row_id, {"part_type": OTHER, "batch_id": owner}, {"part_type": by_id[row_id].part_type})
            for row_id, owner in connection.execute(owners).all()
        ],
    )
    for row_id in known:
        part = by_id[row_id]
        sheet.changed_beside[part.line] = {"part_type": (OTHER, part.part_type)}
    sheet.memory[_RETYPED] = True


def _replace_by_id(sheet: SheetEdit, row: InputRow, met: dict[PartKey, _Met]) -> None:
    values = row.values
    key = (values.pop("maker_id"), values.pop("part_number"))
    part_id = sheet.edit.parts.find_exact_id(*key)
    if part_id is None:
        raise AssertionError("a part that was just made is not found")
    said = values.pop("part_type")
    if met[key].part_type != OTHER:
        forget_unstated(sheet, part_id)
    elif said is None:
        note_unstated(sheet, part_id, row.line)
    values["part_id"] = part_id


def _get_part_table() -> Table:
    return get_table("part")
