"""Orders from draft to received."""

from datetime import UTC, date, datetime

import pytest

from kb.database import open_writer
from kb.edits.ledger import Entry
from kb.edits.orders import (
    NewOrder,
    NewOrderLine,
    add_order,
    add_order_receipt,
    change_order_line,
    change_order_state,
)
from kb.errors import BadInput, Conflict, NotFound

ENTRY = Entry(datetime(2026, 3, 2, tzinfo=UTC), "ann")


@pytest.fixture
def order(shelf):
    with open_writer(shelf.engine) as session:
        lines = [NewOrderLine(shelf.parts[0], 5, 1200, "EUR"), NewOrderLine(shelf.parts[1], 2)]
        return add_order(session, NewOrder(shelf.supplier, shelf.places[0]), lines, entry=ENTRY)


def change(shelf, *states, order):
    with open_writer(shelf.engine) as session:
        for state in states:
            change_order_state(session, order, state, entry=ENTRY)


def receive(shelf, order, part, quantity):
    with open_writer(shelf.engine) as session:
        return add_order_receipt(session, order, part, quantity=quantity, entry=ENTRY)


def test_orders_are_numbered_within_the_year(shelf, order):
    with open_writer(shelf.engine) as session:
        new = NewOrder(shelf.supplier, shelf.places[0])
        second = add_order(session, new, [NewOrderLine(shelf.parts[0], 1)], entry=ENTRY)
    assert (order, second) == ("2026-0001", "2026-0002")


def test_a_sent_order_promises_a_day_and_closes_when_all_came(shelf, order):
    change(shelf, "approved", "sent", order=order)
    assert shelf.read("purchase_order_line", "due_on") == [(date(2026, 3, 8),)] * 2  # house: 6 days
    assert receive(shelf, order, shelf.parts[0], 3).on_hand == 3
    assert shelf.read("purchase_order", "state") == [("sent",)]
    receive(shelf, order, shelf.parts[0], 2)
    receive(shelf, order, shelf.parts[1], 2)
    assert shelf.read("purchase_order", "state") == [("closed",)]
    assert [row[0] for row in shelf.read("stock_movement", "quantity")] == [3, 2, 2]


def test_more_than_ordered_is_not_received_on_the_order(shelf, order):
    change(shelf, "approved", "sent", order=order)
    with pytest.raises(Conflict, match="does not wait for 6 more"):
        receive(shelf, order, shelf.parts[0], 6)
    assert shelf.read("stock_movement", "quantity") == []


def test_a_draft_is_edited_and_a_sent_order_is_not(shelf, order):
    with open_writer(shelf.engine) as session:
        change_order_line(session, order, shelf.parts[0], quantity=7)
        change_order_line(session, order, shelf.parts[1], quantity=0)
        with pytest.raises(NotFound, match="no line for this part"):
            change_order_line(session, order, shelf.parts[2], quantity=1)
    assert shelf.read("purchase_order_line", "quantity") == [(7,)]
    change(shelf, "approved", order=order)
    with pytest.raises(Conflict, match="only a draft"), open_writer(shelf.engine) as session:
        change_order_line(session, order, shelf.parts[0], quantity=1)


def test_states_follow_their_order(shelf, order):
    with pytest.raises(Conflict, match="possible: approved or cancelled"):
        change(shelf, "sent", order=order)
    with pytest.raises(Conflict, match="mark it as sent before"):
        receive(shelf, order, shelf.parts[0], 1)


def test_a_closed_order_waits_for_nothing(shelf, order):
    change(shelf, "approved", "sent", order=order)
    receive(shelf, order, shelf.parts[0], 3)
    change(shelf, "closed", order=order)
    assert sorted(shelf.read("purchase_order_line", "received", "cancelled")) == [(0, 2), (3, 2)]


def test_an_order_without_lines_and_an_unknown_order_are_refused(shelf):
    with open_writer(shelf.engine) as session:
        with pytest.raises(BadInput, match="at least one line"):
            add_order(session, NewOrder(shelf.supplier, shelf.places[0]), [], entry=ENTRY)
        with pytest.raises(NotFound, match="'2026-9' is not known"):
            change_order_state(session, "2026-9", "sent", entry=ENTRY)
