"""The stock ledger: on hand is the sum of the movements, never below nothing, on both databases."""

import os
import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from kb.database import open_writer
from kb.edits.ledger import (
    Entry,
    Place,
    add_count,
    add_issue,
    add_move,
    add_receipt,
    add_return,
    add_unmet_request,
    add_write_off,
)
from kb.edits.set_aside import NewMachineJob, WantedPart, add_machine_job
from kb.errors import BadInput, Conflict

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
ENTRY = Entry(NOW, "ann")


def test_each_kind_moves_on_hand_and_leaves_a_line(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        assert add_receipt(session, place, 10, ENTRY).on_hand == 10
        assert add_issue(session, place, 3, ENTRY).on_hand == 7
        assert add_return(session, place, 1, ENTRY).on_hand == 8
        assert add_write_off(session, place, 2, ENTRY).on_hand == 6
        moved = add_move(session, place, shelf.places[1], 4, ENTRY)
        assert (moved.on_hand, moved.other_on_hand) == (2, 4)
        assert add_count(session, place, 5, ENTRY).quantity == 3
    assert [row[0] for row in shelf.read("stock_movement", "quantity")] == [10, -3, 1, -2, -4, 4, 3]
    assert sorted(shelf.read("stock_level", "location_id", "on_hand")) == [(1, 5), (2, 4)]


def test_what_is_not_there_is_refused_and_nothing_is_booked(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 1, ENTRY)
    with (
        pytest.raises(Conflict, match="Issue of 2 of 'T-0' at 'counter' is not possible: 1 on hand") as error,
        open_writer(shelf.engine) as session,
    ):
        add_issue(session, place, 2, ENTRY)
    assert error.value.figures == {"on_hand": 1, "committed": 0, "available": 1}
    assert shelf.read("stock_movement", "quantity") == [(1,)]
    with pytest.raises(Conflict, match="0 on hand"), open_writer(shelf.engine) as session:
        add_write_off(session, Place(shelf.places[1], shelf.parts[2]), 1, ENTRY)


def test_pieces_set_aside_are_not_sold_unless_told(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 2, ENTRY)
        add_machine_job(
            session, NewMachineJob("AB 12", place.location_id), [WantedPart(place.part_id, 1)], entry=ENTRY
        )
        add_issue(session, place, 1, ENTRY)
        with pytest.raises(Conflict, match="1 on hand, 1 of them set aside for jobs"):
            add_issue(session, place, 1, ENTRY)
        assert add_issue(session, place, 1, ENTRY, may_take_set_aside=True).on_hand == 0


def test_a_sale_during_a_count_is_not_booked_twice(shelf):
    """Ten on the shelf when counting begins; two are sold while somebody counts ten: eight remain."""
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        snapshot = add_receipt(session, place, 10, ENTRY).movement_id
        add_issue(session, place, 2, ENTRY)
        posted = add_count(session, place, 10, ENTRY, snapshot=snapshot)
    assert (posted.quantity, posted.on_hand) == (0, 8)


def test_a_count_without_snapshot_sets_what_was_counted(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 10, ENTRY)
        add_issue(session, place, 2, ENTRY)
        assert add_count(session, place, 10, ENTRY).on_hand == 10
    assert shelf.read("stock_count", "on_hand", "counted_on") == [(10, NOW.date())]


@pytest.mark.parametrize("quantity", [0, -1, 1_000_001])
def test_a_quantity_outside_one_to_a_million_is_refused(shelf, quantity):
    with pytest.raises(BadInput, match="is not usable"), open_writer(shelf.engine) as session:
        add_receipt(session, Place(shelf.places[0], shelf.parts[0]), quantity, ENTRY)


def test_a_move_to_the_same_place_is_refused(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with pytest.raises(BadInput, match="two different locations"), open_writer(shelf.engine) as session:
        add_move(session, place, place.location_id, 1, ENTRY)


def test_the_table_itself_refuses_stock_below_nothing(shelf):
    with open_writer(shelf.engine) as session:
        add_receipt(session, Place(shelf.places[0], shelf.parts[0]), 1, ENTRY)
    with pytest.raises(IntegrityError), open_writer(shelf.engine) as session:
        session.connection().execute(text("UPDATE stock_level SET on_hand = -1"))


def test_demand_of_a_month_is_issues_less_returns_plus_what_was_not_had(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    april = replace(ENTRY, made_at=NOW + timedelta(days=31))
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 10, ENTRY)
        add_issue(session, place, 4, ENTRY)
        add_return(session, place, 1, ENTRY)
        add_unmet_request(session, place, 2, ENTRY)
        add_issue(session, place, 1, april)
        add_write_off(session, place, 1, april)
    assert shelf.read("demand_month", "month", "pieces") == [(2026 * 12 + 2, 5), (2026 * 12 + 3, 1)]


def test_an_empty_shelf_is_a_spell_that_ends_when_pieces_come(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    later = replace(ENTRY, made_at=NOW + timedelta(days=9))
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 1, ENTRY)
        add_issue(session, place, 1, ENTRY)
        add_receipt(session, place, 1, later)
    spell = (NOW.date(), NOW.date() + timedelta(days=9))
    assert shelf.read("stock_out", "from_date", "until_date") == [spell]


# The full measure is 24 clients and 200 rounds: COUNTERHAND_TEST_CLIENTS=24 COUNTERHAND_TEST_ROUNDS=200.
CLIENTS = int(os.environ.get("COUNTERHAND_TEST_CLIENTS", "8"))
ROUNDS = int(os.environ.get("COUNTERHAND_TEST_ROUNDS", "6"))


def test_the_last_piece_is_sold_once(shelf):
    """One conditional update; both databases."""
    place = Place(shelf.places[0], shelf.parts[0])
    assert play_last_piece(shelf.engine, place, clients=CLIENTS, rounds=ROUNDS) == [1] * ROUNDS
    assert shelf.read("stock_level", "on_hand") == [(0,)]


def play_last_piece(engine, place, *, clients, rounds):
    """Successes in each round in which so many clients want the one piece."""
    won = []
    for _ in range(rounds):
        with open_writer(engine) as session:
            add_receipt(session, place, 1, ENTRY)
        sold, errors, gate = [], [], threading.Barrier(clients)

        def sell(sold=sold, errors=errors, gate=gate):
            gate.wait()
            try:
                with open_writer(engine) as session:
                    sold.append(add_issue(session, place, 1, ENTRY))
            except Conflict:
                pass
            except Exception as error:
                errors.append(error)

        threads = [threading.Thread(target=sell) for _ in range(clients)]
        [thread.start() for thread in threads]
        [thread.join() for thread in threads]
        assert errors == []
        won.append(len(sold))
    return won


def test_opposite_moves_at_the_same_time_keep_the_total(shelf):
    here, there = shelf.places
    part = shelf.parts[0]
    with open_writer(shelf.engine) as session:
        add_receipt(session, Place(here, part), 20, ENTRY)
        add_receipt(session, Place(there, part), 20, ENTRY)
    errors = []

    def shuttle(start, end):
        try:
            for _ in range(10):
                with open_writer(shelf.engine) as session:
                    add_move(session, Place(start, part), end, 1, ENTRY)
        except Exception as error:
            errors.append(error)

    ways = [(here, there), (there, here)] * 2
    threads = [threading.Thread(target=shuttle, args=way) for way in ways]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert errors == []
    assert sum(row[0] for row in shelf.read("stock_level", "on_hand")) == 40
    assert sum(q for kind, q in shelf.read("stock_movement", "kind", "quantity") if kind == "move") == 0
