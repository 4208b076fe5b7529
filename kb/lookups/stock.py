"""What lies where: pieces by place, movements of a part with a running balance, the value of the stock."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Select, func, select
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.locations import get_location
from kb.lookups.parts import (
    StoredPart,
    find_maker,
    find_nearest_numbers,
    find_parts_by_gtin,
    find_parts_by_number,
    get_part,
)
from kb.lookups.shelf import find_prices
from kb.lookups.stocked_parts import PartName, read_part_names
from kb.tables.columns import get_table
from kb.tables.demand_rows import count_month


@dataclass(frozen=True, slots=True)
class StockAtPlace:
    """Pieces of a part at a location; ``snapshot`` is the place's last line of the ledger, for counting."""

    location: str
    on_hand: int
    committed: int
    snapshot: int | None

    @property
    def available(self) -> int:
        """What the counter can sell now."""
        return self.on_hand - self.committed


@dataclass(frozen=True, slots=True)
class Movement:
    """A line of the ledger, with what the place held after it."""

    id: int
    location: str
    kind: str
    quantity: int
    balance: int
    note: str | None
    made_by: str | None
    made_at_utc: datetime


@dataclass(frozen=True, slots=True)
class StockValue:
    """Value of the pieces on hand by currency [minor units], and how many have no known price."""

    value_minor: dict[str, int]
    pieces: int
    pieces_without_price: int
    articles: int


def find_asked_parts(session: Session, text: str) -> list[StoredPart]:
    """The parts that a text names: a number, a GTIN, or a maker and a number.

    Raises:
        NotFound: no part is meant; the message names the nearest numbers.
    """
    found = find_parts_by_number(session, text)
    digits = text.strip().replace(" ", "")
    if not found and digits.isascii() and digits.isdigit() and len(digits) in (8, 12, 13, 14):
        found = find_parts_by_gtin(session, digits.zfill(14))
    if found:
        return found
    words = text.split()
    for count in range(len(words) - 1, 0, -1):
        maker = find_maker(session, " ".join(words[:count]))
        if maker is not None:
            return [get_part(session, maker[0], " ".join(words[count:]))]
    nearest = find_nearest_numbers(session, text)
    hint = "the nearest numbers are " + ", ".join(f"'{n}'" for n in nearest) if nearest else "none is near it"
    message = f"Part '{text[:60]}' is not in the catalogue; {hint}. Write the maker before the number."
    raise NotFound(message, nearest=nearest)


def list_stock(session: Session, part_id: int) -> list[StockAtPlace]:
    """Pieces of a part by place, every place that ever had some."""
    level, location, movement = get_table("stock_level"), get_table("location"), get_table("stock_movement")
    # One statement, so that pieces and snapshot belong together also while others post.
    last = (
        select(func.max(movement.c.id))
        .where(movement.c.part_id == level.c.part_id, movement.c.location_id == level.c.location_id)
        .scalar_subquery()
    )
    rows = session.execute(
        select(location.c.location, level.c.on_hand, level.c.committed, last)
        .select_from(level.join(location))
        .where(level.c.part_id == part_id)
        .order_by(location.c.location)
    )
    return [StockAtPlace(*row) for row in rows]


def list_movements(
    session: Session, part_id: int, *, limit: int = 200, before: int | None = None
) -> list[Movement]:
    """The last lines of a part's ledger, newest first; each balance is that of its own place.

    Args:
        before: number of the line behind which the list goes on.
    """
    location, level = get_table("location"), get_table("stock_level")
    page = _select_ledger(part_id, limit=limit, before=before).subquery()
    newer = func.sum(page.c.quantity).over(partition_by=page.c.location_id, order_by=page.c.id.desc())
    here = (level.c.part_id == part_id) & (level.c.location_id == page.c.location_id)
    # Counted back from what lies there now, so that a page reads no line older than its own.
    on_hand = func.coalesce(level.c.on_hand, 0) + page.c.quantity
    source = page.join(location, location.c.id == page.c.location_id).outerjoin(level, here)
    if before is not None:
        later = _sum_ledger_from(part_id, before).subquery()
        on_hand = on_hand - func.coalesce(later.c.pieces, 0)
        source = source.outerjoin(later, later.c.location_id == page.c.location_id)
    rows = session.execute(
        select(
            page.c.id,
            location.c.location,
            page.c.kind,
            page.c.quantity,
            on_hand - newer,
            page.c.note,
            page.c.made_by,
            page.c.made_at_utc,
        )
        .select_from(source)
        .order_by(page.c.id.desc())
    )
    return [Movement(*row) for row in rows]


def _select_ledger(part_id: int, *, limit: int, before: int | None) -> Select[Any]:
    movement = get_table("stock_movement")
    statement = select(movement).where(movement.c.part_id == part_id)
    if before is not None:
        statement = statement.where(movement.c.id < before)
    return statement.order_by(movement.c.id.desc()).limit(limit)


def _sum_ledger_from(part_id: int, first: int) -> Select[Any]:
    movement = get_table("stock_movement").c
    return (
        select(movement.location_id, func.sum(movement.quantity).label("pieces"))
        .where(movement.part_id == part_id, movement.id >= first)
        .group_by(movement.location_id)
    )


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """An article with its pieces by place."""

    part_id: int
    name: PartName
    places: dict[str, int]
    committed: int

    @property
    def on_hand(self) -> int:
        """Pieces at all places."""
        return sum(self.places.values())


def search_shelf(
    session: Session, text: str, *, location: str | None = None, limit: int = 100, after: int = 0
) -> list[ShelfRow]:
    """Stocked articles whose maker, number or type holds a text, by id, from the one after ``after`` on."""
    level, part, maker, place = (get_table(n) for n in ("stock_level", "part", "maker", "location"))
    pattern = "%" + text.strip().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_").lower() + "%"
    found = func.lower(maker.c.maker + " " + part.c.part_number + " " + part.c.part_type)
    source = level.join(part).join(maker).join(place, place.c.id == level.c.location_id)
    ids = select(level.c.part_id).select_from(source).where(level.c.part_id > after)
    if text.strip():
        ids = ids.where(found.like(pattern.replace(" ", "%"), escape="\\"))
    if location is not None:
        ids = ids.where(place.c.location == location)
    part_ids = session.execute(ids.distinct().order_by(level.c.part_id).limit(limit)).scalars().all()
    return _read_shelf_rows(session, part_ids)


def _read_shelf_rows(session: Session, part_ids: Sequence[int]) -> list[ShelfRow]:
    level, place = get_table("stock_level"), get_table("location")
    names = read_part_names(session, part_ids)
    pieces: dict[int, dict[str, int]] = defaultdict(dict)
    committed: dict[int, int] = defaultdict(int)
    for row in session.execute(
        select(level.c.part_id, place.c.location, level.c.on_hand, level.c.committed)
        .select_from(level.join(place))
        .where(level.c.part_id.in_(part_ids))
        .order_by(place.c.location)
    ):
        pieces[row.part_id][row.location] = row.on_hand
        committed[row.part_id] += row.committed
    return [ShelfRow(part_id, names[part_id], pieces[part_id], committed[part_id]) for part_id in part_ids]


def compute_stock_value(session: Session, location: str | None = None) -> StockValue:
    """Value of what is on hand, each part at its lowest known price; those without one are counted apart.

    Raises:
        NotFound: no location has this name.
    """
    level, place = get_table("stock_level"), get_table("location")
    statement = (
        select(level.c.part_id, func.sum(level.c.on_hand))
        .select_from(level.join(place))
        .where(level.c.on_hand > 0)
        .group_by(level.c.part_id)
    )
    if location is not None:
        statement = statement.where(place.c.id == get_location(session, location).id)
    pieces = {row[0]: int(row[1]) for row in session.execute(statement).all()}
    prices = find_prices(session, pieces)
    values: dict[str, int] = defaultdict(int)
    without = 0
    for part_id, count in pieces.items():
        price_minor, currency = prices.get(part_id, (None, None))
        if price_minor is None:
            without += count
        else:
            values[currency or ""] += price_minor * count
    return StockValue(dict(sorted(values.items())), sum(pieces.values()), without, len(pieces))


def count_asked_parts(session: Session) -> int:
    """How many parts were ever asked for."""
    asked = get_table("demand_month").c
    return int(session.execute(select(func.count(asked.part_id.distinct()))).scalar_one())


@dataclass(frozen=True, slots=True)
class MonthFigure:
    """A month of a part: pieces asked for, and on hand at its end (None before the ledger begins)."""

    name: str
    asked: int
    on_hand: int | None


def list_month_figures(
    session: Session,
    part_ids: Collection[int],
    today: date,
    *,
    location_id: int | None = None,
    months: int = 24,
) -> list[MonthFigure]:
    """The last months of parts that count as one, the running month last; at one place or at all."""
    last = count_month(today)
    asked, movement = get_table("demand_month").c, get_table("stock_movement").c
    demanded = select(asked.month, asked.pieces).where(asked.part_id.in_(part_ids))
    booked = select(movement.made_at_utc, movement.quantity).where(movement.part_id.in_(part_ids))
    if location_id is not None:
        demanded = demanded.where(asked.location_id == location_id)
        booked = booked.where(movement.location_id == location_id)
    pieces: dict[int, int] = defaultdict(int)
    for month, count in session.execute(demanded):
        pieces[month] += count
    moved: dict[int, int] = defaultdict(int)
    for made_at, quantity in session.execute(booked):
        moved[min(count_month(made_at.date()), last)] += quantity
    figures, on_hand = [], sum(count for month, count in moved.items() if month <= last - months)
    first = min(moved, default=last + 1)
    for month in range(last - months + 1, last + 1):
        on_hand += moved.get(month, 0)
        name = f"{month // 12}-{month % 12 + 1:02d}"
        figures.append(MonthFigure(name, max(pieces.get(month, 0), 0), on_hand if month >= first else None))
    return figures
