"""A count of many parts: booked together or not at all, against the ledger when counting began."""

from datetime import UTC, datetime

import pytest

from kb.database import open_reader, open_writer
from kb.edits.count_batch import add_count_batch
from kb.edits.ledger import Entry, Place, add_issue, add_receipt
from kb.errors import BadInput, Conflict
from kb.lookups.count_differences import (
    CountDifference,
    Counted,
    find_last_movement,
    list_differences,
    list_not_counted,
)

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
ENTRY = Entry(NOW, "ann")


def receive(shelf, *quantities):
    with open_writer(shelf.engine) as session:
        for part, quantity in zip(shelf.parts, quantities, strict=False):
            add_receipt(session, Place(shelf.places[0], part), quantity, ENTRY)


def find_snapshot(shelf, part):
    with open_reader(shelf.engine) as session:
        return find_last_movement(session, shelf.places[0], part)


def test_all_lines_are_booked_and_carry_the_name_of_the_count(shelf):
    receive(shelf, 10, 5)
    counted = {
        part: (pieces, find_snapshot(shelf, part))
        for part, pieces in zip(shelf.parts, (8, 5, 1), strict=True)
    }
    with open_writer(shelf.engine) as session:
        posted = add_count_batch(session, shelf.places[0], counted, ENTRY)
    assert [posted[part].quantity for part in shelf.parts] == [-2, 0, 1]
    assert [row[0] for row in shelf.read("stock_movement", "note")[2:]] == ["count of 2026-03-02 09:30"] * 3
    assert sorted(shelf.read("stock_level", "on_hand")) == [(1,), (5,), (8,)]


def test_one_impossible_line_takes_all_others_back(shelf):
    receive(shelf, 10, 5)
    first, second = shelf.parts[:2]
    counted = {first: (8, find_snapshot(shelf, first)), second: (0, find_snapshot(shelf, second))}
    with open_writer(shelf.engine) as session:
        add_issue(session, Place(shelf.places[0], second), 2, ENTRY)
    # Sold from a shelf that was counted as empty: 0 found, 2 gone since.
    with open_writer(shelf.engine) as session, pytest.raises(Conflict, match="is not possible"):
        add_count_batch(session, shelf.places[0], counted, ENTRY)
    assert sorted(shelf.read("stock_level", "on_hand")) == [(3,), (10,)]


def test_empty_count_is_refused(shelf):
    with open_writer(shelf.engine) as session, pytest.raises(BadInput, match="0 lines"):
        add_count_batch(session, shelf.places[0], {}, ENTRY)


def test_difference_is_against_the_ledger_when_counting_began(shelf):
    receive(shelf, 10, 4)
    first, second, third = shelf.parts
    counted = {
        first: Counted(10, find_snapshot(shelf, first)),
        third: Counted(2, find_snapshot(shelf, third)),
    }
    with open_writer(shelf.engine) as session:
        add_issue(session, Place(shelf.places[0], first), 3, ENTRY)
    with open_reader(shelf.engine) as session:
        differences = list_differences(session, shelf.places[0], counted)
        left = list_not_counted(session, shelf.places[0], counted, limit=10)
    assert differences == [CountDifference(first, 10, 10, -3), CountDifference(third, 0, 2, 0)]
    assert [(line.difference, line.on_hand_after) for line in differences] == [(0, 7), (2, 2)]
    assert left == ([(second, 4)], 1)
