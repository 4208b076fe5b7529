"""Demand by month: kept equal to the rows it sums up, so that a whole shelf is judged in a second.

A month's pieces are the rows of the demand sheet, what the ledger issued less what came back, and what was
asked for and not had, less what a person took out.
"""

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from sqlalchemy import (
    Connection,
    Integer,
    Select,
    bindparam,
    cast,
    delete,
    extract,
    func,
    insert,
    literal_column,
    select,
    union_all,
    update,
)

from kb.edits.upsert import build_insert
from kb.tables.columns import get_table

PARTS_PER_QUESTION = 5_000
MonthKey = tuple[int, int, int]  # ids of part, month, location


def count_month(day: date) -> int:
    """Months since year 0.

    Example:
        >>> count_month(date(2026, 1, 31))
        24312
    """
    return day.year * 12 + day.month - 1


def add_demand(connection: Connection, location_id: int, part_id: int, *, day: date, pieces: int) -> None:
    """Add pieces to the month of a day; negative ones take away."""
    months = get_table("demand_month")
    statement = build_insert(connection, months).values(
        location_id=location_id, part_id=part_id, month=count_month(day), pieces=pieces
    )
    connection.execute(
        statement.on_conflict_do_update(
            index_elements=["part_id", "month", "location_id"],
            set_={"pieces": months.c.pieces + statement.excluded.pieces},
        )
    )


def refresh_demand_months(connection: Connection, part_ids: Collection[int]) -> None:
    """Make the months of these parts equal to the rows again; rows that are right already stay as they are."""
    if not part_ids:
        return
    months = get_table("demand_month")
    if connection.execute(select(months.c.id).limit(1)).first() is None:
        columns = ["part_id", "month", "location_id", "pieces"]
        connection.execute(insert(months).from_select(columns, build_month_sums()))
        return
    ordered = sorted(part_ids)
    for start in range(0, len(ordered), PARTS_PER_QUESTION):
        _refresh_group(connection, ordered[start : start + PARTS_PER_QUESTION])


def _refresh_group(connection: Connection, part_ids: list[int]) -> None:
    months = get_table("demand_month")
    stored: dict[MonthKey, tuple[int, int]] = {
        (row.part_id, row.month, row.location_id): (row.id, row.pieces)
        for row in connection.execute(select(months).where(months.c.part_id.in_(part_ids)))
    }
    added: list[dict[str, int]] = []
    changed: list[dict[str, int]] = []
    for part_id, month, location_id, pieces in connection.execute(build_month_sums(part_ids)):
        known = stored.pop((part_id, month, location_id), None)
        if known is None:
            added.append(
                {"part_id": part_id, "month": month, "location_id": location_id, "pieces": int(pieces)}
            )
        elif known[1] != pieces:
            changed.append({"_id": known[0], "_pieces": int(pieces)})
    if stored:
        gone = [row_id for row_id, _pieces in stored.values()]
        connection.execute(delete(months).where(months.c.id == bindparam("_id")), [{"_id": i} for i in gone])
    if changed:
        statement = update(months).where(months.c.id == bindparam("_id")).values(pieces=bindparam("_pieces"))
        connection.execute(statement, changed)
    if added:
        connection.execute(insert(months), added)


def build_month_sums(part_ids: Iterable[int] | None = None) -> Select[Any]:
    """Part, month, location and pieces, summed up from the rows."""
    movement = get_table("stock_movement")
    is_demand = movement.c.kind.in_(("issue", "return")) & movement.c.batch_id.is_(None)
    listed = list(part_ids) if part_ids is not None else None
    questions = []
    for name, day, sign in (
        ("demand", "asked_on", 1),
        ("stock_movement", "made_at_utc", -1),
        ("unmet_request", "asked_on", 1),
        ("excluded_demand", "asked_on", -1),
    ):
        columns = get_table(name).c
        month = cast(extract("year", columns[day]), Integer) * 12
        month = month + cast(extract("month", columns[day]), Integer) - 1
        question = select(
            columns.part_id,
            month.label("month"),
            columns.location_id,
            (columns.quantity * literal_column(str(sign))).label("pieces"),
        )
        if name == "stock_movement":
            question = question.where(is_demand)
        if listed is not None:
            question = question.where(columns.part_id.in_(listed))
        questions.append(question)
    rows = union_all(*questions).subquery()
    keys = (rows.c.part_id, rows.c.month, rows.c.location_id)
    return select(*keys, cast(func.sum(rows.c.pieces), Integer).label("pieces")).group_by(*keys)
