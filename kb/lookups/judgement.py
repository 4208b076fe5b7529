"""What persons decided against the figures: levels by hand, demand left out, and the days it comes from."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, select
from sqlmodel import Session

from kb.tables.columns import get_table
from kb.tables.demand_rows import build_day_sums

MOST_LEVELS = 2_000


@dataclass(frozen=True, slots=True)
class LevelByHand:
    """A level that a person set, for a place or (None) for the shop as one; who, when and why."""

    maker: str
    part_number: str
    location: str | None
    level: int
    why: str
    made_by: str
    made_at_utc: datetime


@dataclass(frozen=True, slots=True)
class DemandDay:
    """Pieces asked for on a day at a place, and how many of them a person left out."""

    day: date
    location: str
    asked: int
    left_out: int

    @property
    def counted(self) -> int:
        """Pieces that the forecast counts."""
        return max(self.asked - self.left_out, 0)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Pieces of a day that a person took out of the demand; who, when and why."""

    id: int
    day: date
    location: str
    quantity: int
    why: str
    made_by: str
    made_at_utc: datetime


def list_levels_by_hand(session: Session, part_id: int | None = None) -> list[LevelByHand]:
    """Levels set by hand, of one part or of all, by maker and number; the shop's before those of places."""
    level, part, maker, place = (get_table(n) for n in ("manual_level", "part", "maker", "location"))
    statement = (
        _select_levels()
        .order_by(maker.c.maker, part.c.part_number, place.c.location.is_not(None), place.c.location)
        .limit(MOST_LEVELS)
    )
    if part_id is not None:
        statement = statement.where(level.c.part_id == part_id)
    return [LevelByHand(*row) for row in session.execute(statement)]


def list_levels_page(
    session: Session, *, limit: int, before: int | None = None
) -> tuple[list[LevelByHand], int | None]:
    """Levels set by hand, the one set last first, and the mark of the next page."""
    level = get_table("manual_level")
    statement = _select_levels(level.c.id.label("row")).order_by(level.c.id.desc()).limit(limit + 1)
    if before is not None:
        statement = statement.where(level.c.id < before)
    rows = session.execute(statement).all()
    shown = [LevelByHand(*row[:-1]) for row in rows[:limit]]
    return shown, rows[limit - 1].row if len(rows) > limit else None


def _select_levels(*more: ColumnElement[Any]) -> Select[Any]:
    level, part, maker, place = (get_table(n) for n in ("manual_level", "part", "maker", "location"))
    return select(
        maker.c.maker,
        part.c.part_number,
        place.c.location,
        level.c.level,
        level.c.why,
        level.c.made_by,
        level.c.made_at_utc,
        *more,
    ).select_from(level.join(part).join(maker).outerjoin(place))


def list_demand_days(
    session: Session, part_id: int, *, since: date, limit: int = 60, after: tuple[date, str] | None = None
) -> list[DemandDay]:
    """Days on which a part was asked for, newest first, from the one after a day and a location on."""
    sums = build_day_sums(session.get_bind().dialect.name, part_id, since=since).subquery()
    place = get_table("location")
    statement = (
        select(sums.c.day, place.c.location, sums.c.asked, sums.c.left_out)
        .select_from(sums.join(place, place.c.id == sums.c.location_id))
        .where((sums.c.asked > 0) | (sums.c.left_out > 0))
        .order_by(sums.c.day.desc(), place.c.location)
        .limit(limit)
    )
    if after is not None:
        day, location = after
        is_further = (sums.c.day == day) & (place.c.location > location)
        statement = statement.where((sums.c.day < day) | is_further)
    return [DemandDay(*row) for row in session.execute(statement)]


def list_left_out(session: Session, part_id: int) -> list[LeftOut]:
    """What persons took out of a part's demand, newest day first."""
    left, place = get_table("excluded_demand"), get_table("location")
    statement = (
        select(
            left.c.id,
            left.c.asked_on,
            place.c.location,
            left.c.quantity,
            left.c.why,
            left.c.made_by,
            left.c.made_at_utc,
        )
        .select_from(left.join(place))
        .where(left.c.part_id == part_id)
        .order_by(left.c.asked_on.desc(), left.c.id.desc())
    )
    return [LeftOut(*row) for row in session.execute(statement)]
