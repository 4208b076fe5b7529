"""Fit records of a single list: one that contradicts a manual's or a measured one stands beside it."""

from typing import Any

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.listed_parts import BETTER_FOUNDED
from kb.edits.problem import Notice, shorten
from kb.edits.target import InputRow
from kb.tables.columns import get_table

IDS_PER_QUESTION = 5_000


def note_contrary_fits(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """The rows; those whose outcome a better-founded record contradicts are noted."""
    stored = _read_better_founded(sheet, sorted({row.values["part_id"] for row in rows}))
    for row in rows:
        values = row.values
        key = (values["part_id"], values["engine_id"], values["position"])
        for outcome, source in stored.get(key, ()):
            if outcome != values["outcome"]:
                message = (
                    f"Outcome '{values['outcome']}' stands beside '{outcome}' of '{shorten(source)}'; "
                    "both are kept, and the answer will say that they disagree."
                )
                sheet.note(Notice(row.line, "conflict", "outcome", values["outcome"], message))
    return rows


def _read_better_founded(sheet: SheetEdit, part_ids: list[int]) -> dict[Any, list[tuple[str, str]]]:
    fit, source = get_table("fit"), get_table("source")
    columns = (fit.c.part_id, fit.c.engine_id, fit.c.position, fit.c.outcome, source.c.source)
    last_id = sheet.edit.batch.find_last_id_before(fit)
    stored: dict[Any, list[tuple[str, str]]] = {}
    for start in range(0, len(part_ids) if last_id else 0, IDS_PER_QUESTION):
        question = select(*columns).select_from(fit.join(source)).where(
            source.c.kind.in_(BETTER_FOUNDED),
            fit.c.part_id.in_(part_ids[start : start + IDS_PER_QUESTION]),
            fit.c.id <= last_id,
        )  # fmt: skip
        for row in sheet.edit.connection.execute(question):
            stored.setdefault(tuple(row[:3]), []).append((row[3], row[4]))
    return stored
