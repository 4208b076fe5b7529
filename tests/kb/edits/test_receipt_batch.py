"""A delivery is booked whole or not at all, on both databases."""

from datetime import UTC, datetime

import pytest

from kb.database import open_writer
from kb.edits.ledger import Entry
from kb.edits.orders import NewOrder, NewOrderLine, add_order, change_order_state
from kb.edits.receipt_batch import ReceivedLine, add_receipt_batch
from kb.errors import BadInput, Conflict

ENTRY = Entry(datetime(2026, 3, 2, tzinfo=UTC), "ann", "slip 7")


@pytest.fixture
def order(shelf):
    """A sent order: 4 of the first part, 2 of the second, for the counter."""
    with open_writer(shelf.engine) as session:
        lines = [NewOrderLine(shelf.parts[0], 4), NewOrderLine(shelf.parts[1], 2)]
        name = add_order(session, NewOrder(shelf.supplier, shelf.places[0]), lines, entry=ENTRY)
        for state in ("approved", "sent"):
            change_order_state(session, name, state, entry=ENTRY)
    return name


def book(shelf, pieces, place=0, order_name=None):
    with open_writer(shelf.engine) as session:
        return add_receipt_batch(session, shelf.places[place], pieces, entry=ENTRY, order_name=order_name)


def test_what_an_order_waits_for_is_booked_on_it_and_the_rest_beside_it(shelf, order):
    first, second, third = shelf.parts
    assert book(shelf, {first: 6, third: 1}, order_name=order) == [
        ReceivedLine(first, 4, 2, 6),
        ReceivedLine(third, 0, 1, 1),
    ]
    assert shelf.read("purchase_order", "state") == [("sent",)]
    assert book(shelf, {second: 2}, order_name=order) == [ReceivedLine(second, 2, 0, 2)]
    assert shelf.read("purchase_order", "state") == [("closed",)]
    notes = {note for (note,) in shelf.read("stock_movement", "note")}
    assert notes == {f"order {order}, slip 7", "slip 7"}


def test_one_line_that_cannot_be_booked_leaves_nothing_behind(shelf, order):
    with pytest.raises(BadInput, match="Quantity '0'"):
        book(shelf, {shelf.parts[0]: 3, shelf.parts[1]: 0}, order_name=order)
    with pytest.raises(BadInput, match="another place"):
        book(shelf, {shelf.parts[0]: 3}, place=1, order_name=order)
    with pytest.raises(BadInput, match="0 lines"):
        book(shelf, {})
    assert shelf.read("stock_movement", "quantity") == []
    assert shelf.read("purchase_order_line", "received") == [(0,), (0,)]


def test_an_order_that_is_closed_takes_no_delivery(shelf, order):
    with open_writer(shelf.engine) as session:
        change_order_state(session, order, "closed", entry=ENTRY)
    with pytest.raises(Conflict, match="only an order that was sent"):
        book(shelf, {shelf.parts[0]: 3}, order_name=order)
