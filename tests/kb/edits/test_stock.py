"""Counted stock becomes movements; on hand stays the sum of the movements."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from importers.mapping import build_mapping
from importers.run import ImportOptions
from importers.sheet_file import SheetFile, load_file
from kb.database import open_writer

PARTS = "maker,part_number,part_type\nWren,B-743,drive_belt\nWren,R-6,roller_set\n"
HEADING = "location,maker,part_number,on_hand,counted_on\n"


def read_stock(engine):
    """On hand and the movements, by part number, of the place ``counter``."""
    with engine.connect() as connection:
        levels = connection.execute(
            text("SELECT part_number, on_hand FROM stock_level l JOIN part p ON p.id = l.part_id")
        )
        moves = connection.execute(
            text(
                "SELECT part_number, m.kind, quantity FROM stock_movement m "
                "JOIN part p ON p.id = m.part_id ORDER BY m.id"
            )
        )
        return {level.part_number: level.on_hand for level in levels}, [tuple(move) for move in moves]


def issue(engine, quantity):
    with open_writer(engine) as session:
        session.execute(text(f"UPDATE stock_level SET on_hand = on_hand - {quantity}"))
        session.execute(
            text(
                "INSERT INTO stock_movement (location_id, part_id, kind, quantity, made_at_utc) "
                f"SELECT location_id, part_id, 'issue', -{quantity}, '2026-01-20 10:00:00' FROM stock_level"
            )
        )


def test_first_count_is_booked_from_zero(database, load_files):
    load_files(database, parts=PARTS, stock=HEADING + "counter,Wren,B-743,14,2026-01-14\n")
    assert read_stock(database) == ({"B-743": 14}, [("B-743", "count", 14)])


def test_count_of_nothing_makes_a_level_and_no_movement(database, load_files):
    load_files(database, parts=PARTS, stock=HEADING + "counter,Wren,B-743,0,2026-01-14\n")
    assert read_stock(database) == ({"B-743": 0}, [])


def test_same_count_again_books_nothing_though_stock_has_moved(database, load_files):
    sheet = HEADING + "counter,Wren,B-743,14,2026-01-14\n"
    load_files(database, parts=PARTS, stock=sheet)
    issue(database, 3)
    load_files(database, parts=PARTS, stock=sheet)
    assert read_stock(database) == ({"B-743": 11}, [("B-743", "count", 14), ("B-743", "issue", -3)])


def test_later_count_books_the_difference_to_what_is_on_hand(database, load_files):
    load_files(database, parts=PARTS, stock=HEADING + "counter,Wren,B-743,14,2026-01-14\n")
    issue(database, 3)
    load_files(database, stock=HEADING + "counter,Wren,B-743,10,2026-01-21\n")
    levels, moves = read_stock(database)
    assert (levels, moves[-1]) == ({"B-743": 10}, ("B-743", "count", -1))


def test_corrected_count_books_the_difference(database, load_files):
    load_files(database, parts=PARTS, stock=HEADING + "counter,Wren,B-743,14,2026-01-14\n")
    report = load_files(database, stock=HEADING + "counter,Wren,B-743,12,2026-01-14\n")
    assert report.files[0].changed == 1
    assert read_stock(database) == ({"B-743": 12}, [("B-743", "count", 14), ("B-743", "count", -2)])


def test_older_count_that_comes_late_is_kept_and_not_booked(database, load_files):
    load_files(database, parts=PARTS, stock=HEADING + "counter,Wren,B-743,14,2026-01-14\n")
    report = load_files(database, stock=HEADING + "counter,Wren,B-743,5,2026-01-07\n")
    assert report.files[0].added == 1
    assert read_stock(database) == ({"B-743": 14}, [("B-743", "count", 14)])


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_counts_in_one_sheet_the_later_one_holds(sqlite_engine, load_files, turned):
    rows = [
        "counter,Wren,B-743,14,2026-01-14\n",
        "counter,Wren,B-743,9,2026-01-21\n",
        "counter,Wren,B-743,3,\n",
    ]
    load_files(sqlite_engine, parts=PARTS, stock=HEADING + "".join(reversed(rows) if turned else rows))
    assert read_stock(sqlite_engine) == ({"B-743": 9}, [("B-743", "count", 9)])


def test_places_are_counted_apart(sqlite_engine, load_files):
    rows = "counter,Wren,B-743,14,2026-01-14\nbranch,Wren,B-743,2,2026-01-14\ncounter,Wren,R-6,5,2026-01-14\n"
    load_files(sqlite_engine, parts=PARTS, stock=HEADING + rows)
    with sqlite_engine.connect() as connection:
        found = connection.execute(
            text(
                "SELECT location, part_number, on_hand FROM stock_level l JOIN part p ON p.id = part_id "
                "JOIN location o ON o.id = location_id ORDER BY on_hand"
            )
        )
        assert [tuple(row) for row in found] == [
            ("branch", "B-743", 2), ("counter", "R-6", 5), ("counter", "B-743", 14),
        ]  # fmt: skip


def test_a_count_that_is_looked_at_first_shows_what_was_on_hand_before(database, load_files, tmp_path):
    load_files(
        database,
        parts=PARTS,
        stock=HEADING + "counter,Wren,B-743,14,2026-01-14\nvan,Wren,B-743,3,2026-01-14\n",
    )
    issue(database, 1)
    path = tmp_path / "count.csv"
    path.write_text(
        HEADING
        + "counter,Wren,B-743,9,2026-01-25\nvan,Wren,B-743,2,2026-01-25\ncounter,Wren,R-6,4,2026-01-25\n"
    )
    file = SheetFile(path, path.name, build_mapping({"kind": "stock"}))
    options = ImportOptions(dry_run=True, shown_changes=9)
    with open_writer(database) as session:
        [report] = load_file(session, file, now=datetime(2026, 1, 25, tzinfo=UTC), options=options).files
    assert [(c.line, c.action, c.before, c.after["on_hand"]) for c in report.changes] == [
        (2, "changed", {"on_hand": 13}, 9),
        (3, "added", {}, 2),  # what the ledger says already
        (4, "added", {}, 4),
    ]
