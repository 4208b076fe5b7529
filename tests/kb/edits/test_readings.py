"""Lines of the bench book: written once, never changed, refused when they say nothing. On both databases."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import func, select

from kb.database import open_reader, open_writer
from kb.edits.readings import NewReading, add_machine, add_reading
from kb.errors import BadInput, Conflict
from kb.lookups.engines import get_engine
from kb.tables.columns import get_table
from kb.terms import Position

NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)


@pytest.fixture
def book(database, load_files):
    """Function that writes lines for machine "AB 1" of engine teal-50 and tells which were added."""
    load_files(database, engines="engine\nteal-50\nteal-80\n")

    def write(*lines, label="AB 1", engine="teal-50"):
        with open_writer(database) as session:
            machine = add_machine(session, label, engine_id=get_engine(session, engine).id, now=NOW)
            return [add_reading(session, machine, line, now=NOW) for line in lines]

    return write


def belt(**values):
    return NewReading(Position.DRIVE_BELT, "top_width", **values)


def count(database, table="reading"):
    with open_reader(database) as session:
        return session.execute(select(func.count()).select_from(get_table(table))).scalar_one()


def test_the_same_line_twice_is_written_once(database, book):
    line = belt(value=17.4, odometer_km=6200.0, taken_on=date(2026, 1, 31))
    assert book(line, line) == [True, False]
    assert book(line) == [False]
    assert count(database) == 1


def test_a_key_makes_two_equal_lines_two_and_one_line_sent_again_one(database, book):
    assert book(belt(value=17.4, key="a"), belt(value=17.4, key="b"), belt(value=17.4, key="a")) == [
        True,
        True,
        False,
    ]
    assert count(database) == 2


def test_a_key_that_was_used_for_another_line_is_refused(database, book):
    book(belt(value=17.4, key="a"))
    with pytest.raises(Conflict, match="'a'"):
        book(belt(value=17.5, key="a"))
    assert count(database) == 1


@pytest.mark.parametrize("label", ["ab 1", "AB-1", " a b1 "])
def test_spaces_dashes_and_case_do_not_make_another_machine(database, book, label):
    book(belt(value=17.4))
    book(belt(value=17.2), label=label)
    assert count(database, "machine") == 1


def test_a_machine_keeps_its_engine(book):
    book(belt(value=17.4))
    with pytest.raises(Conflict, match="another engine"):
        book(belt(value=17.2), engine="teal-80")


@pytest.mark.parametrize("label", ["", " - ", "x" * 61])
def test_labels_that_name_nothing_are_refused(book, label):
    with pytest.raises(BadInput):
        book(belt(value=17.4), label=label)


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"value": -0.1},
        {"value": float("nan")},
        {"value": 17.0, "odometer_km": -1.0},
        {"value": 17.0, "odometer_km": 2e6},
        {"value": 17.0, "key": ""},
    ],
)
def test_lines_that_say_nothing_or_too_much_are_refused(database, book, values):
    with pytest.raises(BadInput):
        book(belt(**values))
    assert count(database) == 0


def test_a_new_part_alone_is_a_line(book):
    assert book(belt(replaced=True, odometer_km=9000.0)) == [True]


def test_names_of_quantities_are_spelt_one_way(database, book):
    book(NewReading(Position.DRIVE_BELT, "Width (mm)", value=17.4))
    with open_reader(database) as session:
        row = session.execute(select(get_table("reading"))).one()
    assert (row.quantity, row.unit) == ("top_width", "mm")
