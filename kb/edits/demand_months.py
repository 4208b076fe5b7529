"""Demand by month: kept equal to the rows it sums up, so that a whole shelf is judged in a second."""

from collections.abc import Collection
from datetime import date

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from kb.edits.upsert import build_insert
from kb.tables.columns import get_table
from kb.tables.demand_rows import build_month_sums, build_type_sums, count_month

PARTS_PER_QUESTION = 5_000
MonthKey = tuple[int, int, int]  # ids of part, month, location


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
    part, types = get_table("part").c, get_table("demand_type_month")
    part_type = connection.execute(select(part.part_type).where(part.id == part_id)).scalar_one()
    of_type = build_insert(connection, types).values(
        part_type=part_type, month=count_month(day), pieces=pieces
    )
    connection.execute(
        of_type.on_conflict_do_update(
            index_elements=["part_type", "month"],
            set_={"pieces": types.c.pieces + of_type.excluded.pieces},
        )
    )


def refresh_demand_months(connection: Connection, part_ids: Collection[int]) -> None:
    """Make the months of these parts equal to the rows again; what is right already stays as it is."""
    if not part_ids:
        return
    months = get_table("demand_month")
    if connection.execute(select(months.c.id).limit(1)).first() is None:
        columns = ["part_id", "month", "location_id", "pieces"]
        connection.execute(insert(months).from_select(columns, build_month_sums(connection.dialect.name)))
    else:
        ordered = sorted(part_ids)
        for start in range(0, len(ordered), PARTS_PER_QUESTION):
            _refresh_group(connection, ordered[start : start + PARTS_PER_QUESTION])
    refresh_type_months(connection)


def refresh_type_months(connection: Connection) -> None:
    """Make the months of the part types equal to those of their parts."""
    types = get_table("demand_type_month")
    stored = {(row.part_type, row.month): (row.id, row.pieces) for row in connection.execute(select(types))}
    for part_type, month, pieces in connection.execute(build_type_sums()).all():
        known = stored.pop((part_type, month), None)
        if known is None:
            statement = insert(types).values(part_type=part_type, month=month, pieces=pieces)
            connection.execute(statement)
        elif known[1] != pieces:
            connection.execute(update(types).where(types.c.id == known[0]).values(pieces=pieces))
    gone = [row_id for row_id, _pieces in stored.values()]
    connection.execute(delete(types).where(types.c.id.in_(gone)))


def _refresh_group(connection: Connection, part_ids: list[int]) -> None:
    months = get_table("demand_month")
    stored: dict[MonthKey, tuple[int, int]] = {
        (row.part_id, row.month, row.location_id): (row.id, row.pieces)
        for row in connection.execute(select(months).where(months.c.part_id.in_(part_ids)))
    }
    added: list[dict[str, int]] = []
    changed: list[dict[str, int]] = []
    for part_id, month, location_id, pieces in connection.execute(
        build_month_sums(connection.dialect.name, part_ids)
    ):
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
