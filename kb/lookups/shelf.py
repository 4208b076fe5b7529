"""Pieces on hand and prices of many parts at once."""

import json
from collections import defaultdict
from collections.abc import Collection, Iterator
from typing import Any

from sqlalchemy import ARRAY, ColumnElement, Integer, Select, String, any_, cast, func, select
from sqlmodel import Session

from kb.tables.columns import get_table

IDS_PER_QUESTION = 500


def split_ids(ids: Collection[int]) -> Iterator[list[int]]:
    """Ids in groups that fit into one statement."""
    ordered = sorted(ids)
    for start in range(0, len(ordered), IDS_PER_QUESTION):
        yield ordered[start : start + IDS_PER_QUESTION]


def is_among(session: Session, column: Any, ids: Collection[int]) -> ColumnElement[bool]:
    """Condition that a column is one of many ids, sent as one value, which binds much quicker."""
    if session.get_bind().dialect.name == "sqlite":
        listed = func.json_each(json.dumps(sorted(ids))).table_valued("value")
        among: ColumnElement[bool] = column.in_(select(listed.c.value))
    else:
        among = column == any_(cast(sorted(ids), ARRAY(Integer)))
    return among


def iterate_rows(session: Session, statement: Select[Any]) -> Iterator[tuple[Any, ...]]:
    """Rows as the driver gives them, in half the time: for many rows of whole numbers and texts only."""
    result: Any = session.execute(statement)
    yield from result.cursor
    result.close()


def find_on_hand(session: Session, part_ids: Collection[int]) -> dict[int, list[tuple[str, int]]]:
    """Pieces on hand by part: a list of places and pieces, places without pieces left out."""
    level, location = get_table("stock_level"), get_table("location")
    found: dict[int, list[tuple[str, int]]] = defaultdict(list)
    if not part_ids:
        return found
    rows = session.execute(
        select(level.c.part_id, location.c.location, level.c.on_hand)
        .select_from(level.join(location))
        .where(is_among(session, level.c.part_id, part_ids), level.c.on_hand > 0)
        .order_by(location.c.location)
    )
    for part_id, place, pieces in rows:  # unpacked: reading by name takes twice as long
        found[part_id].append((place, pieces))
    return found


def hide_costs(session: Session) -> None:
    """Answer no question about prices and supplier terms in this session: its caller may not see them."""
    session.info["hides_costs"] = True


def has_hidden_costs(session: Session) -> bool:
    """Whether prices and supplier terms are kept from this session's caller."""
    return bool(session.info.get("hides_costs"))


def find_prices(session: Session, part_ids: Collection[int]) -> dict[int, tuple[int, str | None]]:
    """Lowest price for a single order of each part, by the newest offer of each supplier, in minor units."""
    if has_hidden_costs(session):
        return {}
    offer = get_table("offer")
    newest: dict[tuple[int, int], tuple[str, int, int, str | None]] = {}
    if not part_ids:
        return {}
    rows = session.execute(
        select(
            offer.c.part_id,
            offer.c.supplier_id,
            offer.c.minimum_quantity,
            offer.c.price_minor,
            offer.c.currency,
            # As text: it sorts the same, and making dates of thousands costs more than the query.
            func.coalesce(cast(offer.c.seen_on, String), ""),
        ).where(is_among(session, offer.c.part_id, part_ids), offer.c.price_minor.is_not(None))
    )
    for part_id, supplier_id, minimum_quantity, price_minor, currency, seen in rows:
        key = (part_id, supplier_id)
        entry = (seen, -(minimum_quantity or 1), price_minor, currency)
        if key not in newest or entry[:2] > newest[key][:2]:
            newest[key] = entry
    prices: dict[int, tuple[int, str | None]] = {}
    for (part_id, _supplier), (_seen, _quantity, price_minor, currency) in newest.items():
        if part_id not in prices or price_minor < prices[part_id][0]:
            prices[part_id] = (price_minor, currency)
    return prices
