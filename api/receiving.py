"""A delivery as somebody wrote it, by names or scanned codes, received in one step: for the API."""

from datetime import datetime
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator
from sqlmodel import Session

from api.postings import MAX_TEXT, NO_NUL
from kb.edits.ledger import Entry
from kb.edits.receipt_batch import add_receipt_batch
from kb.errors import NotFound
from kb.lookups.locations import get_location
from kb.lookups.parts import StoredPart, get_part
from kb.lookups.scanned import find_scanned


class ReceiptLinePost(BaseModel):
    """Pieces of a part: named by maker and number, or by a code as a scanner reads it."""

    model_config = ConfigDict(extra="forbid")

    maker: str | None = Field(None, min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    part_number: str | None = Field(None, min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    code: str | None = Field(None, min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: int = Field(1, strict=True, ge=1, le=1_000_000)

    @model_validator(mode="after")
    def _check_name(self) -> Self:
        if (self.code is None) == (self.maker is None or self.part_number is None):
            raise ValueError("write maker and part_number, or code")
        return self


class ReceiptPost(BaseModel):
    """A delivery; with ``order`` its pieces are booked on that order as far as it waits for them."""

    model_config = ConfigDict(extra="forbid")

    location: str = Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)
    lines: list[ReceiptLinePost] = Field(min_length=1, max_length=5_000)
    order: str | None = Field(None, min_length=1, max_length=40, pattern=NO_NUL)
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)


def receive(session: Session, post: ReceiptPost, *, made_by: str | None, now: datetime) -> dict[str, Any]:
    """Book a delivery; lines of the same part are added up.

    Raises:
        NotFound: a part, a code, the place or the order is unknown. Conflict: the order was not sent.
        BadInput: the order is for another place.
    """
    place = get_location(session, post.location)
    parts: dict[int, StoredPart] = {}
    pieces: dict[int, int] = {}
    for line in post.lines:
        part = _find_part(session, line)
        parts[part.id] = part
        pieces[part.id] = pieces.get(part.id, 0) + line.quantity
    entry = Entry(now, made_by, post.note)
    received = add_receipt_batch(session, place.id, pieces, entry=entry, order_name=post.order)
    return {
        "location": place.location,
        "order": post.order,
        "lines": [
            {
                "maker": parts[line.part_id].ref.maker,
                "part_number": parts[line.part_id].ref.part_number,
                "quantity": line.for_order + line.beyond,
                "for_order": line.for_order,
                "beyond_order": line.beyond if post.order else None,
                "on_hand": line.on_hand,
            }
            for line in received
        ],
    }


def _find_part(session: Session, line: ReceiptLinePost) -> StoredPart:
    if line.code is None:
        return get_part(session, line.maker or "", line.part_number or "")
    scanned = find_scanned(session, line.code)
    if scanned.part is None:
        raise NotFound(f"{scanned.why} Nothing was booked.")
    return scanned.part
