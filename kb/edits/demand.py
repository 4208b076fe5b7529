"""Demand sheets: several issues of a part on one day are numbered in the order of the rows.

The months that the forecast reads follow each sheet and each sheet taken back.
"""

from collections import Counter
from collections.abc import Iterable

from sqlalchemy import Connection, select

from kb.edits.catalogue import SheetEdit
from kb.edits.demand_months import refresh_demand_months
from kb.edits.target import InputRow
from kb.tables.columns import get_table


def prepare_demand(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with their number of the day."""
    numbered: Counter[tuple[int, int, object]] = sheet.memory.setdefault("numbered", Counter())
    for row in rows:
        key = (row.values["location_id"], row.values["part_id"], row.values["asked_on"])
        numbered[key] += 1
        row.values["number_of_day"] = numbered[key]
    return rows


def follow_demand_sheet(sheet: SheetEdit) -> None:
    """Bring the months of the parts that a sheet touched up to date."""
    refresh_demand_months(sheet.edit.connection, {row["part_id"] for row in sheet.touched})


def list_demanded_parts(connection: Connection, runs: Iterable[tuple[int, int]]) -> set[int]:
    """Parts named by rows of demand, given as runs of ids."""
    demand = get_table("demand").c
    found: set[int] = set()
    for first, last in runs:
        question = select(demand.part_id).where(demand.id.between(first, last)).distinct()
        found.update(connection.execute(question).scalars())
    return found
