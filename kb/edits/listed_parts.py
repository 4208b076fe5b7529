"""Parts of a single list: possible duplicates are asked for, better-founded values are never overwritten.

A catalogue folder says exactly what it means; a list of a shop or a supplier may write a number in another
way, or state a size that a manual or a measurement contradicts.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.likely_parts import SIZES, note_likely_parts
from kb.edits.parts import prepare_parts
from kb.edits.problem import Notice, Problem, shorten
from kb.edits.target import InputRow, Values
from kb.notation.part_number import explain_latin_twin, find_latin_twin
from kb.tables.columns import get_table
from kb.terms import SourceKind

BETTER_FOUNDED = (str(SourceKind.MANUAL), str(SourceKind.MEASURED), str(SourceKind.STANDARD))
LEAVE_OUT = "leave out"
SAME_AS = "same as "
IDS_PER_QUESTION = 5_000


@dataclass(frozen=True, slots=True)
class Decisions:
    """What a number is that may be a stored one: ``ask``, ``same`` or ``new`` where marks alone differ.

    A single number may also be ``leave out``, or ``same as`` another number of its maker.
    """

    usual: str = "ask"
    by_number: dict[str, str] = field(default_factory=dict)

    def get(self, part_number: str) -> str:
        """The decision for a part number."""
        return self.by_number.get(part_number, self.usual)


def prepare_listed_parts(sheet: SheetEdit, rows: list[InputRow], *, decisions: Decisions) -> list[InputRow]:
    """Rows with their part's id; undecided duplicates are refused, likely ones and contradictions noted."""
    rows = [row for row in rows if _take_decision(sheet, row, decisions)]
    sheet.edit.parts.read(row.values["part_number"] for row in rows)
    rows = [row for row in rows if _decide(sheet, row, decisions)]
    numbers = {row.line: row.values["part_number"] for row in rows}
    last_part = sheet.memory.setdefault("last_part", sheet.edit.batch.find_last_id_before(get_table("part")))
    rows = prepare_parts(sheet, rows)
    undecided = [
        row
        for row in rows
        if row.values["part_id"] > last_part and numbers[row.line] not in decisions.by_number
    ]
    note_likely_parts(sheet, undecided, numbers=numbers, last_part=last_part)
    return _keep_better_founded(sheet, rows)


def _take_decision(sheet: SheetEdit, row: InputRow, decisions: Decisions) -> bool:
    """Whether a row goes on; one that is the same as another part is read as that."""
    number = row.values["part_number"]
    decision = decisions.by_number.get(number, "")
    if decision == LEAVE_OUT:
        message = f"Part '{shorten(number)}' was left out, as decided."
        sheet.note(Notice(row.line, "left_out", "part_number", shorten(number), message))
        return False
    if decision.startswith(SAME_AS):
        row.values["part_number"] = decision.removeprefix(SAME_AS)
    return True


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
        sheet.note(Notice(row.line, "duplicate", "part_number", shorten(number), message))
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


def _keep_better_founded(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows that overwrite no value of a manual, standard or measurement; contradicted ones are noted."""
    stored = _read_better_founded(sheet, {row.values["part_id"] for row in rows})
    if not stored:
        return rows
    return [row for row in rows if _stands_beside(sheet, row, stored.get(row.values["part_id"], ()))]


def _read_better_founded(sheet: SheetEdit, part_ids: set[int]) -> dict[int, list[Any]]:
    record, source = get_table("part_record"), get_table("source")
    columns = (record.c.part_id, record.c.source_id, source.c.source, *(record.c[size] for size in SIZES))
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
        for name in SIZES
        if values[name] is not None and record._mapping[name] not in (None, values[name])
    ]


def _say(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else shorten(str(value))


def _split(values: list[Any]) -> list[list[Any]]:
    return [values[start : start + IDS_PER_QUESTION] for start in range(0, len(values), IDS_PER_QUESTION)]
