"""Demand sheets: several issues of a part on one day are numbered in the order of the rows."""

from collections import Counter

from kb.edits.catalogue import SheetEdit
from kb.edits.target import InputRow


def prepare_demand(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with their number of the day."""
    numbered: Counter[tuple[int, int, object]] = sheet.memory.setdefault("numbered", Counter())
    for row in rows:
        key = (row.values["location_id"], row.values["part_id"], row.values["asked_on"])
        numbered[key] += 1
        row.values["number_of_day"] = numbered[key]
    return rows
