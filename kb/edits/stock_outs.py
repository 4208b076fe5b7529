"""Spells without a piece of a part: the forecast must not take an empty shelf for missing demand."""

from collections.abc import Mapping
from datetime import date

from sqlalchemy import Connection, insert, select, update

from kb.tables.columns import get_table


def note_stock_out(
    connection: Connection, place: tuple[int, int], *, before: int, after: int, day: date
) -> None:
    """Begin or end a spell when on hand came to nothing or left it."""
    spells = get_table("stock_out")
    if before > 0 and after == 0:
        connection.execute(insert(spells).values(location_id=place[0], part_id=place[1], from_date=day))
    elif before == 0 and after > 0:
        connection.execute(
            update(spells)
            .where(
                spells.c.location_id == place[0],
                spells.c.part_id == place[1],
                spells.c.until_date.is_(None),
            )
            .values(until_date=day)
        )


def note_counted_stock_outs(
    connection: Connection,
    differences: Mapping[tuple[int, int], int],
    *,
    levels: Mapping[tuple[int, int], int],
    day: date,
) -> None:
    """The same for many places at once, from their levels before the differences were booked."""
    has_open = connection.execute(
        select(get_table("stock_out").c.id).where(get_table("stock_out").c.until_date.is_(None)).limit(1)
    ).first()
    for place, difference in differences.items():
        before = levels.get(place, 0)
        if (before > 0 and before + difference == 0) or (has_open and before == 0 and difference > 0):
            note_stock_out(connection, place, before=before, after=before + difference, day=day)
