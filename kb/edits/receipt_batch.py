"""A delivery of many parts booked together: all of it or none, with an order or without."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sqlmodel import Session

from kb.edits.ledger import Entry, Place, add_receipt
from kb.edits.orders import add_order_receipt, find_open_pieces
from kb.errors import BadInput

MOST_LINES = 5_000


@dataclass(frozen=True, slots=True)
class ReceivedLine:
    """Pieces of a part that came: for the order, and beyond what it asked for; on hand after both."""

    part_id: int
    for_order: int
    beyond: int
    on_hand: int


def add_receipt_batch(
    session: Session,
    location_id: int,
    pieces: Mapping[int, int],
    *,
    entry: Entry,
    order_name: str | None = None,
) -> list[ReceivedLine]:
    """Book what came, by part; what an order does not wait for is received beside it.

    Args:
        session: a writer's session; the caller commits.
        location_id: where the pieces are put.
        pieces: pieces by part, each above 0.
        entry: who receives, when, and the note of every movement.
        order_name: the order that the delivery answers; its place must be this one.

    Raises:
        BadInput: no line, too many, a quantity that is none, or the order is for another place.
        NotFound: the order is unknown. Conflict: it was not sent. Nothing was booked.
    """
    if not 1 <= len(pieces) <= MOST_LINES:
        message = (
            f"A delivery of {len(pieces)} lines is not usable; receive 1 to {MOST_LINES} parts at a time."
        )
        raise BadInput(message, field="lines")
    with session.begin_nested():
        still_open: dict[int, int] = {}
        if order_name is not None:
            order_place, still_open = find_open_pieces(session, order_name)
            if order_place != location_id:
                message = f"Order '{order_name}' is for another place; receive it where it was ordered for."
                raise BadInput(message, field="location")
        # Places are always locked in the same order, so that two deliveries never wait for each other.
        return [
            _receive(
                session,
                Place(location_id, part_id),
                quantity,
                entry=entry,
                order=(order_name, min(still_open.get(part_id, 0), quantity)),
            )
            for part_id, quantity in sorted(pieces.items())
        ]


def _receive(
    session: Session, place: Place, quantity: int, *, entry: Entry, order: tuple[str | None, int]
) -> ReceivedLine:
    order_name, for_order = order
    on_hand, beyond = 0, quantity
    if order_name is not None and for_order > 0:
        noted = replace(entry, note=f"order {order_name}" + (f", {entry.note}" if entry.note else ""))
        posted = add_order_receipt(session, order_name, place.part_id, quantity=for_order, entry=noted)
        on_hand, beyond = posted.on_hand, quantity - for_order
    if beyond > 0 or for_order == 0:
        on_hand = add_receipt(session, place, beyond, entry).on_hand
    return ReceivedLine(place.part_id, for_order, beyond, on_hand)
