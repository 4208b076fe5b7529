"""Locations that keep stock, by name."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import Session

from kb.errors import NotFound
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class LocationRef:
    """A location."""

    id: int
    location: str


def list_locations(session: Session) -> list[LocationRef]:
    """All locations, by name."""
    table = get_table("location").c
    rows = session.execute(select(table.id, table.location).order_by(table.location))
    return [LocationRef(row.id, row.location) for row in rows]


def get_location(session: Session, name: str) -> LocationRef:
    """The location with this name, case aside.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    known = list_locations(session)
    exact = [place for place in known if place.location == name]
    found = exact or [place for place in known if place.location.casefold() == name.strip().casefold()]
    if len(found) != 1:
        names = [place.location for place in known]
        message = f"Location '{name[:60]}' is not known; {format_nearest(name, names)}."
        raise NotFound(message, nearest=find_nearest(name, names))
    return found[0]


def find_main_location(session: Session) -> str:
    """The location with the most pieces, which a form offers first; empty where nothing lies anywhere."""
    table, level = get_table("location"), get_table("stock_level").c
    pieces = func.sum(level.on_hand)
    found = session.execute(
        select(table.c.location)
        .join(get_table("stock_level"))
        .group_by(table.c.id, table.c.location)
        .order_by(pieces.desc(), table.c.location)
        .limit(1)
    ).scalar()
    return found or ""
