"""Parts of a single list: possible duplicates are asked for, better-founded values are never overwritten.

A catalogue folder says exactly what it means; a list of a shop or a supplier may write a number in another
way, or state a size that a manual or a measurement contradicts.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.parts import prepare_parts
from kb.edits.problem import Notice, Problem, shorten
from kb.edits.target import InputRow, Values
from kb.notation.part_number import explain_latin_twin, find_latin_twin, part_number_key
from kb.tables.columns import get_table
from kb.terms import SourceKind

BETTER_FOUNDED = (str(SourceKind.MANUAL), str(SourceKind.MEASURED), str(SourceKind.STANDARD))
IDS_PER_QUESTION = 5_000
_SIZES = (
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
    "bore_mm",
    "outside_mm",
    "thread",
    "across_flats_mm",
)
_TOLD_APART_BY = ("length_mm", "diameter_mm", "bore_mm", "thread", "free_length_mm")


@dataclass(frozen=True, slots=True)
class Decisions:
    """What a number is that differs from a stored one by marks only: ``ask``, ``same`` or ``new``."""

    usual: str = "ask"
    by_number: dict[str, str] = field(default_factory=dict)

    def get(self, part_number: str) -> str:
        """The decision for a part number."""
        return self.by_number.get(part_number, self.usual)


def prepare_listed_parts(sheet: SheetEdit, rows: list[InputRow], *, decisions: Decisions) -> list[InputRow]:
    """Rows with their part's id; undecided duplicates are refused, likely ones and contradictions noted."""
    sheet.edit.parts.read(row.values["part_number"] for row in rows)
    rows = [row for row in rows if _decide(sheet, row, decisions)]
    numbers = {row.line: row.values["part_number"] for row in rows}
    last_part = sheet.memory.setdefault("last_part", sheet.edit.batch.find_last_id_before(get_table("part")))
    rows = prepare_parts(sheet, rows)
    added = [row for row in rows if row.values["part_id"] > last_part]
    _note_likely_duplicates(sheet, added, numbers=numbers, last_part=last_part)
    return _keep_better_founded(sheet, rows)


def _decide(sheet: SheetEdit, row: InputRow, decisions: Decisions) -> bool:
    """Whether a row may go on; a decision for the same part gives it the stored spelling."""
    maker_id, number = row.values["maker_id"], row.values["part_number"]
    likely = sheet.edit.parts.list_likely(maker_id, number)
    decision = decisions.get(number)
    if likely and likely[0].part_number == number:
        return True
    twin = find_latin_twin(number)
    if twin is not None and decision != "new":
        message = (
            f"{explain_latin_twin(shorten(number), shorten(twin))}; type it again, or decide that it is new "
            "if the part really bears these letters."
        )
        sheet.refuse(Problem(row.line, "part_number", shorten(number), message))
        return False
    if not likely:
        return True
    listed = ", ".join(f"'{part.part_number}'" for part in likely[:5])
    if decision == "same" and len(likely) == 1:
        row.values["part_number"] = likely[0].part_number
        sheet.edit.parts.add_number(likely[0].part_number)
    elif decision != "new":
        message = (
            f"Part number '{shorten(number)}' differs from the stored {listed} by marks only; decide: "
            "the same part, or a new one."
        )
        sheet.note(Notice(row.line, "duplicate", "part_number", shorten(number), message))
        sheet.refuse(Problem(row.line, "part_number", shorten(number), message))
        return False
    return True


def _note_likely_duplicates(
    sheet: SheetEdit, rows: list[InputRow], *, numbers: dict[int, str], last_part: int
) -> None:
    """New parts with the article number of a stored part, or with its size and maker."""
    if not rows or last_part == 0:
        return
    by_gtin = {row.values["gtin"]: row for row in rows if row.values["gtin"]}
    record, part = get_table("part_record"), get_table("part")
    joined = select(record.c.gtin, part.c.part_number).select_from(record.join(part))
    for gtins in _split(sorted(by_gtin)):
        question = joined.where(record.c.gtin.in_(gtins), part.c.id <= last_part)
        for gtin, stored in sheet.edit.connection.execute(question):
            row = by_gtin[gtin]
            _note_duplicate(sheet, row, numbers[row.line], stored, why=f"has the same article number {gtin}")
    _note_same_sizes(sheet, rows, numbers=numbers, last_part=last_part)


def _note_same_sizes(
    sheet: SheetEdit, rows: list[InputRow], *, numbers: dict[int, str], last_part: int
) -> None:
    record, part = get_table("part_record"), get_table("part")
    new = _read_kinds(sheet, [row.values["part_id"] for row in rows])
    for name in _TOLD_APART_BY:
        sized = [row for row in rows if row.values[name] is not None]
        if not sized:
            continue
        values = {row.values[name] for row in sized}
        columns = (
            part.c.maker_id,
            part.c.part_type,
            part.c.part_number,
            *(record.c[size] for size in _SIZES),
        )
        stored: dict[Any, str] = {}
        for group in _split(sorted(values)):
            question = select(*columns).select_from(record.join(part)).where(
                record.c[name].in_(group), part.c.id <= last_part
            )  # fmt: skip
            for found in sheet.edit.connection.execute(question):
                stored.setdefault((found[0], found[1], tuple(found[3:])), found[2])
        for row in sized:
            key = (*new[row.values["part_id"]], tuple(row.values[size] for size in _SIZES))
            if key in stored:
                _note_duplicate(sheet, row, numbers[row.line], stored[key], why="has the same size and maker")


def _read_kinds(sheet: SheetEdit, part_ids: list[int]) -> dict[int, tuple[int, str]]:
    """Maker and part type of parts."""
    part = get_table("part").c
    found: dict[int, tuple[int, str]] = {}
    for ids in _split(part_ids):
        question = select(part.id, part.maker_id, part.part_type).where(part.id.in_(ids))
        found |= {row[0]: (row[1], row[2]) for row in sheet.edit.connection.execute(question)}
    return found


def _note_duplicate(sheet: SheetEdit, row: InputRow, number: str, stored: str, *, why: str) -> None:
    if part_number_key(number) == part_number_key(stored):
        return  # decided already
    message = (
        f"Part '{shorten(number)}' {why} as the stored '{shorten(stored)}'; check whether they are one part."
    )
    sheet.note(Notice(row.line, "duplicate", "part_number", shorten(number), message))


def _keep_better_founded(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows that overwrite no value of a manual, standard or measurement; contradicted ones are noted."""
    stored = _read_better_founded(sheet, {row.values["part_id"] for row in rows})
    if not stored:
        return rows
    return [row for row in rows if _stands_beside(sheet, row, stored.get(row.values["part_id"], ()))]


def _read_better_founded(sheet: SheetEdit, part_ids: set[int]) -> dict[int, list[Any]]:
    record, source = get_table("part_record"), get_table("source")
    columns = (record.c.part_id, record.c.source_id, source.c.source, *(record.c[size] for size in _SIZES))
    last_id = sheet.edit.batch.find_last_id_before(record)
    stored: dict[int, list[Any]] = {}
    if last_id == 0:
        return stored
    for ids in _split(sorted(part_ids)):
        question = select(*columns).select_from(record.join(source)).where(
            source.c.kind.in_(BETTER_FOUNDED), record.c.part_id.in_(ids), record.c.id <= last_id
        )  # fmt: skip
        for found in sheet.edit.connection.execute(question):
            stored.setdefault(found[0], []).append(found)
    return stored


def _stands_beside(sheet: SheetEdit, row: InputRow, stored: Iterable[Any]) -> bool:
    for record in stored:
        shown = shorten(record.source)
        is_own = record.source_id == row.values["source_id"]
        for name in _list_contradicted(row.values, record):
            known, said = record._mapping[name], row.values[name]
            if is_own:
                message = (
                    f"{name} {_say(said)} contradicts {_say(known)} of '{shown}', "
                    "which a list does not overwrite; give the new value a source of its own, "
                    "or load the catalogue."
                )
                sheet.refuse(Problem(row.line, name, _say(said), message))
                return False
            message = f"{name} {_say(said)} stands beside {_say(known)} of '{shown}'; both are kept."
            sheet.note(Notice(row.line, "conflict", name, _say(said), message))
    return True


def _list_contradicted(values: Values, record: Any) -> list[str]:
    return [
        name
        for name in _SIZES
        if values[name] is not None and record._mapping[name] not in (None, values[name])
    ]


def _say(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else shorten(str(value))


def _split(values: list[Any]) -> list[list[Any]]:
    return [values[start : start + IDS_PER_QUESTION] for start in range(0, len(values), IDS_PER_QUESTION)]
