"""The stock ledger: counted quantities booked as movements.

On hand is the sum of the movements; ``stock_level`` carries that sum and is changed in the same transaction.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Connection, bindparam, insert, select, update

from kb.edits.catalogue import SheetEdit
from kb.edits.stock_outs import note_counted_stock_outs
from kb.edits.target import Values
from kb.tables.columns import get_table

PAIRS_PER_QUESTION = 10_000


@dataclass(frozen=True, slots=True)
class Booking:
    """Who books and when."""

    made_at_utc: datetime
    batch_id: int | None = None
    note: str | None = None


Place = tuple[int, int]  # ids of location and part


def book_count_sheet(sheet: SheetEdit) -> None:
    """Book the counts that a stock sheet added or changed, where no later count is stored."""
    if not sheet.touched:
        return
    days: dict[Place, set[date | None]] = {}
    for row in sheet.touched:
        days.setdefault((row["location_id"], row["part_id"]), set()).add(row["counted_on"])
    newest = _read_newest_counts(sheet.edit.connection, days)
    counts = {place: on_hand for place, (day, on_hand) in newest.items() if day in days[place]}
    _show_levels(sheet, counts, newest)
    batch = sheet.edit.batch
    booking = Booking(batch.origin.made_at_utc, batch.id, "stock sheet")
    book_counts(sheet.edit.connection, counts, booking)


def _show_levels(
    sheet: SheetEdit, counts: dict[Place, int], newest: dict[Place, tuple[date | None, int]]
) -> None:
    """Have the rows that are shown say what was on hand before, where the count says otherwise."""
    if not sheet.changes:
        return
    levels = read_levels(sheet.edit.connection, counts)
    old = {
        sheet.line_of[*place, newest[place][0]]: level
        for place, level in levels.items()
        if level != counts[place]
    }
    sheet.changes = [
        replace(
            change,
            action="changed",
            before={"on_hand": old[change.line]},
            after={"on_hand": change.after["on_hand"]},
        )
        if change.line in old
        else change
        for change in sheet.changes
    ]


def _read_newest_counts(
    connection: Connection, places: Collection[Place]
) -> dict[Place, tuple[date | None, int]]:
    """Day and pieces of the newest count of each place; a count without a day is older than any other."""
    counts = get_table("stock_count").c
    newest: dict[Place, tuple[date | None, int]] = {}
    for parts in _split(sorted({part_id for _location, part_id in places})):
        for location_id, part_id, day, on_hand in connection.execute(
            select(counts.location_id, counts.part_id, counts.counted_on, counts.on_hand).where(
                counts.part_id.in_(parts)
            )
        ):
            place = (location_id, part_id)
            if place not in places:
                continue
            known = newest.get(place)
            if known is None or (day is not None and (known[0] is None or day > known[0])):
                newest[place] = (day, on_hand)
    return newest


def book_counts(connection: Connection, counts: dict[Place, int], booking: Booking) -> None:
    """Set on hand to counted quantities: each difference becomes a ``count`` movement.

    Args:
        connection: a writer's connection.
        counts: pieces counted by location and part.
        booking: who books and when.
    """
    levels = get_table("stock_level")
    stored = read_levels(connection, counts)
    differences = {place: counted - stored.get(place, 0) for place, counted in counts.items()}
    new_levels = [
        _name_place(place) | {"on_hand": 0, "committed": 0} for place in counts if place not in stored
    ]
    if new_levels:
        connection.execute(insert(levels), new_levels)
    note_counted_stock_outs(connection, differences, levels=stored, day=booking.made_at_utc.date())
    book_differences(connection, differences, booking)


def book_differences(connection: Connection, differences: dict[Place, int], booking: Booking) -> None:
    """Add signed quantities to stock levels that exist, each with a ``count`` movement."""
    moved = {place: quantity for place, quantity in differences.items() if quantity != 0}
    if not moved:
        return
    levels = get_table("stock_level")
    connection.execute(
        update(levels)
        .where(levels.c.location_id == bindparam("_location"), levels.c.part_id == bindparam("_part"))
        .values(on_hand=levels.c.on_hand + bindparam("_quantity")),
        [
            {"_location": location, "_part": part, "_quantity": quantity}
            for (location, part), quantity in moved.items()
        ],
    )
    connection.execute(
        insert(get_table("stock_movement")),
        [
            _name_place(place)
            | {
                "kind": "count",
                "quantity": quantity,
                "note": booking.note,
                "made_at_utc": booking.made_at_utc,
                "batch_id": booking.batch_id,
            }
            for place, quantity in moved.items()
        ],
    )


def read_levels(connection: Connection, places: dict[Place, int]) -> dict[Place, int]:
    """On hand of those places that have a stock level; locks their rows where the database can."""
    levels = get_table("stock_level").c
    found: dict[Place, int] = {}
    for parts in _split(sorted({part_id for _location, part_id in places})):
        for location_id, part_id, on_hand in connection.execute(
            select(levels.location_id, levels.part_id, levels.on_hand)
            .where(levels.part_id.in_(parts))
            .with_for_update()
        ):
            if (location_id, part_id) in places:
                found[location_id, part_id] = on_hand
    return found


def _name_place(place: Place) -> Values:
    return {"location_id": place[0], "part_id": place[1]}


def _split(ids: list[int]) -> list[list[int]]:
    return [ids[start : start + PAIRS_PER_QUESTION] for start in range(0, len(ids), PAIRS_PER_QUESTION)]
