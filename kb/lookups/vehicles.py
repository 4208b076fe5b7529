"""The vehicles that engines sit in, as a person names them."""

from collections import defaultdict
from collections.abc import Collection

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.shelf import split_ids
from kb.tables.columns import get_table


def find_vehicle_names(session: Session, engine_ids: Collection[int]) -> dict[int, list[str]]:
    """Make, model and years of the vehicles of each engine, each once, in order."""
    table = get_table("vehicle")
    found: dict[int, list[str]] = defaultdict(list)
    for group in split_ids(engine_ids):
        rows = session.execute(
            select(table.c.engine_id, table.c.make, table.c.model, table.c.year_from, table.c.year_to)
            .where(table.c.engine_id.in_(group))
            .order_by(table.c.make, table.c.model, table.c.year_from)
        )
        for row in rows:
            name = f"{row.make} {row.model}{_say_years(row.year_from, row.year_to)}"
            if name not in found[row.engine_id]:
                found[row.engine_id].append(name)
    return found


def _say_years(first: int | None, last: int | None) -> str:
    if first is None and last is None:
        return ""
    if first == last:
        return f" ({first})"
    return f" ({first if first is not None else ''}–{last if last is not None else ''})"
