"""What a person decides against the figures, as somebody wrote it, by names: for the API and the pages."""

from datetime import date, datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from api.postings import MAX_TEXT, NO_NUL
from kb.edits.judgement import add_excluded_demand, change_manual_level, remove_manual_level
from kb.edits.ledger import Entry, Place
from kb.lookups.locations import get_location
from kb.lookups.parts import get_part


class DecisionPost(BaseModel):
    """A part, why, and who: who is the key's owner where keys are used, else what is written."""

    model_config = ConfigDict(extra="forbid")

    maker: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    why: str = Field(min_length=1, max_length=500, pattern=NO_NUL)
    made_by: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)


class LevelPost(DecisionPost):
    """A level by hand, of a place or (without one) of the whole shop; ``level`` null = computed again."""

    location: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    level: int | None = Field(strict=True, ge=0, le=1_000_000)


class ExclusionPost(DecisionPost):
    """Pieces of a day that do not count as demand, such as a one-off bulk sale."""

    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    day: date
    quantity: int = Field(strict=True, ge=1, le=1_000_000)


def decide_level(session: Session, post: LevelPost, *, made_by: str | None, now: datetime) -> dict[str, Any]:
    """Set a level by hand, or let it be computed again.

    Raises:
        NotFound: part or place is unknown, or there is no level to remove. BadInput: nobody is named.
    """
    part = get_part(session, post.maker, post.part_number)
    place = get_location(session, post.location) if post.location else None
    location_id = place.id if place else None
    who = made_by or post.made_by
    if post.level is None:
        remove_manual_level(session, part.id, location_id=location_id)
    else:
        entry = Entry(now, who, post.why)
        change_manual_level(session, part.id, post.level, location_id=location_id, entry=entry)
    return {
        "maker": part.ref.maker,
        "part_number": part.ref.part_number,
        "location": place.location if place else None,
        "level": post.level,
        "why": post.why,
        "made_by": who,
    }


def exclude_demand(
    session: Session, post: ExclusionPost, *, made_by: str | None, now: datetime
) -> dict[str, Any]:
    """Take pieces of a day out of the demand.

    Raises:
        NotFound: part or place is unknown. BadInput: nobody is named.
    """
    part = get_part(session, post.maker, post.part_number)
    place = get_location(session, post.location)
    who = made_by or post.made_by
    entry = Entry(now, who, post.why)
    where = Place(place.id, part.id)
    exclusion = add_excluded_demand(session, where, post.quantity, day=post.day, entry=entry)
    return {
        "exclusion": exclusion,
        "maker": part.ref.maker,
        "part_number": part.ref.part_number,
        "location": place.location,
        "day": post.day.isoformat(),
        "quantity": post.quantity,
        "why": post.why,
        "made_by": who,
    }
