"""A posting as somebody wrote it, by names, booked in the ledger: for the API, the pages and scanners."""

from collections.abc import Callable
from datetime import datetime
from enum import StrEnum
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from kb.edits.ledger import (
    Entry,
    Place,
    Posted,
    add_count,
    add_issue,
    add_move,
    add_receipt,
    add_return,
    add_unmet_request,
    add_write_off,
)
from kb.edits.orders import add_order_receipt
from kb.errors import BadInput
from kb.lookups.locations import get_location
from kb.lookups.parts import get_part

NO_NUL = r"^[^\x00]*$"
MAX_TEXT = 200


class MoveKind(StrEnum):
    """What is booked; ``unmet`` writes down pieces asked for and not had."""

    RECEIVE = "receive"
    ISSUE = "issue"
    RETURN = "return"
    MOVE = "move"
    COUNT = "count"
    WRITE_OFF = "write_off"
    UNMET = "unmet"


class MovePost(BaseModel):
    """One posting.

    ``to_location`` for a move; ``snapshot`` for a count (from ``GET /api/stock``); ``order`` for pieces of an
    order; ``from_set_aside`` lets an issue take pieces that wait for a job.
    """

    model_config = ConfigDict(extra="forbid")

    kind: MoveKind
    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    maker: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(strict=True, ge=0, le=1_000_000)
    to_location: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)
    snapshot: int | None = Field(None, strict=True, ge=0, le=2**53)
    order: str | None = Field(None, max_length=40, pattern=NO_NUL)
    from_set_aside: bool = False
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)


def book(session: Session, post: MovePost, *, made_by: str | None, now: datetime) -> dict[str, Any]:
    """Book a posting.

    Raises:
        NotFound: part, place or order is unknown. Conflict: there are not so many. BadInput: wrong field.
    """
    part = get_part(session, post.maker, post.part_number)
    place = Place(get_location(session, post.location).id, part.id)
    entry = Entry(now, made_by, post.note)
    names = {"maker": part.ref.maker, "part_number": part.ref.part_number, "location": post.location}
    if post.kind is MoveKind.UNMET:
        note = add_unmet_request(session, place, post.quantity, entry)
        return {"request": note, "kind": "unmet", **names, "quantity": post.quantity}
    posted = _book_movement(session, post, place, entry)
    return {
        "movement": posted.movement_id,
        "kind": posted.kind,
        **names,
        "quantity": posted.quantity,
        "on_hand": posted.on_hand,
        "committed": posted.committed,
        "available": posted.on_hand - posted.committed,
        "to_location": post.to_location,
        "to_on_hand": posted.other_on_hand,
    }


def _book_movement(session: Session, post: MovePost, place: Place, entry: Entry) -> Posted:
    if post.kind is MoveKind.MOVE:
        if not post.to_location:
            raise BadInput("A move needs the place to move to; write it as to_location.", field="to_location")
        target = get_location(session, post.to_location)
        return add_move(session, place, target.id, post.quantity, entry)
    if post.kind is MoveKind.COUNT:
        return add_count(session, place, post.quantity, entry, snapshot=post.snapshot)
    if post.kind is MoveKind.ISSUE:
        return add_issue(session, place, post.quantity, entry, may_take_set_aside=post.from_set_aside)
    if post.kind is MoveKind.RECEIVE and post.order:
        return add_order_receipt(session, post.order, place.part_id, quantity=post.quantity, entry=entry)
    plain: dict[MoveKind, Callable[[Session, Place, int, Entry], Posted]] = {
        MoveKind.RECEIVE: add_receipt,
        MoveKind.RETURN: add_return,
        MoveKind.WRITE_OFF: add_write_off,
    }
    return plain[post.kind](session, place, post.quantity, entry)
