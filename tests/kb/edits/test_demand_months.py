"""Demand by month follows sheets, sheets taken back, the ledger and a person's decisions."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import event

from kb.database import open_reader, open_writer
from kb.edits.judgement import (
    add_excluded_demand,
    change_manual_level,
    remove_excluded_demand,
    remove_manual_level,
)
from kb.edits.ledger import Entry, Place, add_issue, add_receipt
from kb.edits.undo import undo_batch
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.check import check_database
from kb.lookups.judgement import list_demand_days

NOW = datetime(2026, 3, 2, tzinfo=UTC)
ENTRY = Entry(NOW, "ann", "sold to a rental firm once")
PARTS = "maker,part_number,part_type\nMillbrake,A-1,drive_belt\n"
DEMAND = "location,maker,part_number,date,quantity\n"


def _read_months(engine):
    from sqlalchemy import select

    from kb.tables.columns import get_table

    with engine.connect() as connection:
        month = get_table("demand_month").c
        return [
            tuple(row) for row in connection.execute(select(month.month, month.pieces).order_by(month.month))
        ]


def _is_sound(engine):
    with open_reader(engine) as session:
        return [
            result.what
            for result in check_database(session)
            if not result.ok and "look-up" not in result.what
        ] == []


def test_months_follow_a_sheet_and_a_sheet_taken_back(database, load_files):
    rows = "counter,Millbrake,A-1,2026-01-05,2\ncounter,Millbrake,A-1,2026-01-05,1\n"
    load_files(database, parts=PARTS, demand=DEMAND + rows)
    assert _read_months(database) == [(24312, 3)]
    second = load_files(database, demand=DEMAND + rows + "counter,Millbrake,A-1,2026-02-01,4\n")
    assert _read_months(database) == [(24312, 3), (24313, 4)]
    with open_writer(database) as session:
        undo_batch(session, second.batch, NOW)
    assert _read_months(database) == [(24312, 3)]
    assert _is_sound(database)


def test_pieces_taken_out_by_a_person_do_not_count(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 50, ENTRY)
        add_issue(session, place, 41, ENTRY)
        add_excluded_demand(session, place, 40, day=date(2026, 3, 2), entry=ENTRY)
    assert _read_months(shelf.engine) == [(24314, 1)]
    assert _is_sound(shelf.engine)


def test_a_decision_needs_who_and_why(shelf):
    with pytest.raises(BadInput, match="who and why"), open_writer(shelf.engine) as session:
        change_manual_level(session, shelf.parts[0], 4, location_id=None, entry=Entry(NOW, "ann", " "))


def test_a_level_set_by_hand_replaces_the_one_before_and_can_be_taken_away(shelf):
    with open_writer(shelf.engine) as session:
        change_manual_level(session, shelf.parts[0], 4, location_id=None, entry=ENTRY)
        change_manual_level(session, shelf.parts[0], 6, location_id=None, entry=ENTRY)
        change_manual_level(session, shelf.parts[0], 2, location_id=shelf.places[1], entry=ENTRY)
    assert sorted(shelf.read("manual_level", "level", "made_by", "why")) == [
        (2, "ann", "sold to a rental firm once"),
        (6, "ann", "sold to a rental firm once"),
    ]
    with open_writer(shelf.engine) as session:
        remove_manual_level(session, shelf.parts[0], location_id=None)
        with pytest.raises(NotFound, match="No level is set by hand"):
            remove_manual_level(session, shelf.parts[0], location_id=None)


def test_a_time_counts_by_its_day_in_utc_whatever_the_zone_of_the_server(shelf):
    """23:00 UTC on 31 March is 13:00 on 1 April at UTC+14."""
    if shelf.engine.dialect.name == "postgresql":

        @event.listens_for(shelf.engine, "connect")
        def far_east(connection, _record):
            connection.execute("SET TIME ZONE 'Etc/GMT-14'")
            connection.commit()

        shelf.engine.dispose()
    place, late = Place(shelf.places[0], shelf.parts[0]), datetime(2026, 3, 31, 23, tzinfo=UTC)
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 5, ENTRY)
        add_issue(session, place, 3, Entry(late, "ann"))
    assert _read_months(shelf.engine) == [(24314, 3)]
    assert _is_sound(shelf.engine)
    with open_reader(shelf.engine) as session:
        days = list_demand_days(session, place.part_id, since=date(2026, 1, 1))
    assert [(item.day, item.asked) for item in days] == [(date(2026, 3, 31), 3)]


def test_the_same_pieces_are_left_out_once_and_counted_again(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    with open_writer(shelf.engine) as session:
        add_receipt(session, place, 9, ENTRY)
        add_issue(session, place, 5, ENTRY)
        number = add_excluded_demand(session, place, 4, day=NOW.date(), entry=ENTRY)
    with pytest.raises(Conflict, match="1 pieces count"), open_writer(shelf.engine) as session:
        add_excluded_demand(session, place, 2, day=NOW.date(), entry=ENTRY)
    with open_writer(shelf.engine) as session:
        remove_excluded_demand(session, number)
    assert _read_months(shelf.engine) == [(24314, 5)]
    assert _is_sound(shelf.engine)
