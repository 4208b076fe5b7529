"""The rows that demand is made of, as one statement: sheets of past issues, the ledger, what was not had.

A month's pieces are the rows of the demand sheet, what the ledger issued less what came back, and what was
asked for and not had, less what a person took out.
"""

from collections.abc import Iterable
from datetime import date
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Date,
    DateTime,
    Integer,
    Select,
    cast,
    extract,
    func,
    literal_column,
    select,
    type_coerce,
    union_all,
)

from kb.tables.columns import get_table


def count_month(day: date) -> int:
    """Months since year 0.

    Example:
        >>> count_month(date(2026, 1, 31))
        24312
    """
    return day.year * 12 + day.month - 1


def build_month_sums(dialect_name: str, part_ids: Iterable[int] | None = None) -> Select[Any]:
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
        month = _build_month(dialect_name, columns[day])
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


def build_day_sums(dialect_name: str, part_id: int, *, since: date) -> Select[Any]:
    """Location, day, pieces asked for and pieces left out of one part, from a day on."""
    movement = get_table("stock_movement")
    is_demand = movement.c.kind.in_(("issue", "return")) & movement.c.batch_id.is_(None)
    questions = []
    for name, day, asked, left_out in (
        ("demand", "asked_on", 1, 0),
        ("stock_movement", "made_at_utc", -1, 0),
        ("unmet_request", "asked_on", 1, 0),
        ("excluded_demand", "asked_on", 0, 1),
    ):
        columns = get_table(name).c
        question = select(
            columns.location_id,
            _build_day(dialect_name, columns[day]).label("day"),
            (columns.quantity * literal_column(str(asked))).label("asked"),
            (columns.quantity * literal_column(str(left_out))).label("left_out"),
        ).where(columns.part_id == part_id)
        questions.append(question.where(is_demand) if name == "stock_movement" else question)
    rows = union_all(*questions).subquery()
    asked_sum, left_out_sum = (cast(func.sum(rows.c[name]), Integer) for name in ("asked", "left_out"))
    return (
        select(rows.c.location_id, rows.c.day, asked_sum.label("asked"), left_out_sum.label("left_out"))
        .where(rows.c.day >= since)
        .group_by(rows.c.location_id, rows.c.day)
    )


def _build_day(dialect_name: str, moment: ColumnElement[Any]) -> ColumnElement[date]:
    """The day of a day or a time, in UTC."""
    if _is_time(moment):
        if dialect_name == "postgresql":
            return cast(func.timezone("UTC", moment), Date)
        return type_coerce(func.date(moment), Date)
    return moment


def _build_month(dialect_name: str, moment: ColumnElement[Any]) -> ColumnElement[int]:
    """Months since year 0 of a day or a time; a time counts by its day in UTC, as everywhere."""
    if dialect_name == "postgresql" and _is_time(moment):
        moment = func.timezone("UTC", moment)
    return cast(extract("year", moment), Integer) * 12 + cast(extract("month", moment), Integer) - 1


def _is_time(moment: ColumnElement[Any]) -> bool:
    """Whether a column holds times; the stored type is wrapped so that it is always in UTC."""
    return isinstance(getattr(moment.type, "impl", moment.type), DateTime)


def build_type_sums() -> Select[Any]:
    """Part type, month and pieces, summed up from the months of the parts."""
    months, part = get_table("demand_month"), get_table("part")
    keys = (part.c.part_type, months.c.month)
    pieces = cast(func.sum(months.c.pieces), Integer)
    return select(*keys, pieces).select_from(months.join(part, part.c.id == months.c.part_id)).group_by(*keys)
