"""The bench book over time. The forecast itself is held by the tests of its rule; here: what goes into it.

Rate of a straight line: 1 mm in 4,000 km is 0.25 mm per 1,000 km, and 0.5 mm are used up in 2,000 km (plain
arithmetic).
"""

from datetime import UTC, date, datetime

import pytest
from sqlmodel import Session

from api.bench_book import ReadingLine, write_reading
from kb.database import open_writer
from kb.errors import BadInput, NotFound
from kb.lookups.readings import list_machines, read_book
from kb.rules.wear_series_values import SeriesAxis, SeriesFindingCode, SeriesState

NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)
FILES = {
    "engines": "engine\nteal-50\n",
    "wear_limits": "engine,position,quantity,nominal,limit,sense,unit\n"
    "teal-50,drive_belt,top_width,18,16.5,min,mm\nteal-50,rollers,diameter,16,15.5,min,mm\n",
}


@pytest.fixture
def read(sqlite_engine, load_files):
    """Function that writes lines (value, km, new part) for a belt and gives its series back."""
    load_files(sqlite_engine, **FILES)

    def run(*lines):
        with open_writer(sqlite_engine) as session:
            for value, km, is_new in lines:
                line = ReadingLine(
                    "drive_belt",
                    "top_width",
                    value,
                    str(km) if km is not None else None,
                    replaced=is_new,
                    engine="teal-50",
                )
                write_reading(session, "AB 1", line, now=NOW)
        with Session(sqlite_engine) as session:
            return read_book(session, "ab1").series[0]

    return run


STRAIGHT = [("18.0", 0, False), ("17.5", 2000, False), ("17.0", 4000, False)]


def test_a_straight_line_gives_rate_remaining_distance_and_when_to_measure_again(read):
    found = read(*STRAIGHT)
    assert found.answer.state is SeriesState.PROJECTED
    assert found.answer.rate == pytest.approx(-0.00025)
    assert found.answer.remaining == pytest.approx(2000.0)
    assert found.answer.low <= 2000.0 <= found.answer.high
    assert 4000.0 < found.answer.measure_again_km <= 6000.0
    assert found.limit.limit == 16.5


def test_a_new_part_starts_a_new_series(read):
    found = read(*STRAIGHT, ("18.0", 5000, True), ("17.9", 6000, False))
    assert found.answer.reading_count == 2
    assert len(found.readings) == 5


def test_a_new_part_written_down_for_one_quantity_counts_for_all_of_the_position(sqlite_engine, load_files):
    load_files(sqlite_engine, **FILES)
    with open_writer(sqlite_engine) as session:
        for quantity, value, km, is_new in (
            ("top_width", "17.0", "4000", False),
            ("thickness", None, "4100", True),
            ("top_width", "17.9", "4500", False),
        ):
            line = ReadingLine("drive_belt", quantity, value, km, replaced=is_new, engine="teal-50")
            write_reading(session, "AB 1", line, now=NOW)
    with Session(sqlite_engine) as session:
        width = next(item for item in read_book(session, "AB 1").series if item.quantity == "top_width")
    assert width.answer.reading_count == 1
    assert not [item for item in width.answer.findings if item.code is SeriesFindingCode.GROWING_READING]


def test_a_falling_odometer_is_reported_and_nothing_is_projected(read):
    found = read(("18.0", 5000, False), ("17.5", 2000, False))
    assert found.answer.state is SeriesState.DATA_ERROR
    assert [item.code for item in found.answer.findings] == [SeriesFindingCode.FALLING_ODOMETER]


def test_a_growing_reading_is_reported(read):
    found = read(("17.0", 1000, False), ("17.9", 3000, False), ("17.4", 5000, False))
    assert SeriesFindingCode.GROWING_READING in [item.code for item in found.answer.findings]


def test_without_odometer_the_days_are_the_axis(sqlite_engine, load_files):
    load_files(sqlite_engine, **FILES)
    with open_writer(sqlite_engine) as session:
        for value, day in (("18", date(2026, 1, 1)), ("17.5", date(2026, 3, 1)), ("17", date(2026, 5, 1))):
            line = ReadingLine("drive_belt", "top_width", value, taken_on=day, engine="teal-50")
            write_reading(session, "AB 1", line, now=NOW)
    with Session(sqlite_engine) as session:
        (found,) = read_book(session, "AB 1").series
    assert found.answer.axis is SeriesAxis.DAYS
    assert found.answer.measure_again_on is not None


def test_an_unknown_limit_is_said(sqlite_engine, load_files):
    load_files(sqlite_engine, **FILES)
    with open_writer(sqlite_engine) as session:
        line = ReadingLine("clutch_bell", "bore", "107.1", "100", engine="teal-50")
        write_reading(session, "AB 1", line, now=NOW)
    with Session(sqlite_engine) as session:
        assert read_book(session, "AB 1").series[0].answer.state is SeriesState.NO_LIMIT


def test_a_new_machine_needs_its_engine_and_an_unknown_one_names_the_nearest(read, sqlite_engine):
    read(*STRAIGHT)
    with open_writer(sqlite_engine) as session, pytest.raises(BadInput, match="name its engine"):
        write_reading(session, "CD 2", ReadingLine("drive_belt", "top_width", "17"), now=NOW)
    with Session(sqlite_engine) as session, pytest.raises(NotFound, match="'AB 1'"):
        read_book(session, "AB 12")
    with Session(sqlite_engine) as session:
        assert [item.label for item in list_machines(session)] == ["AB 1"]
