"""What is drawn beside a verdict on a belt, from the demo catalogue."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlmodel import Session

from importers.load import load_catalogue
from kb.database import open_database, open_reader, open_writer
from kb.lookups.belt_drive import BeltDrive, find_belt_drive
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.migrate import upgrade_schema


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    database = open_database(":memory:")
    upgrade_schema(database)
    with open_writer(database) as session:
        folder = Path(__file__).parents[3] / "demo_catalog"
        assert not load_catalogue(session, folder, now=datetime(2026, 11, 20, tzinfo=UTC)).has_problems
    with open_reader(database) as session:
        yield session
    database.dispose()


def find(session: Session, engine: str, asked: str) -> BeltDrive | None:
    return find_belt_drive(session, does_part_fit(session, FitQuestion(engine, asked)))


def test_both_belts_are_found_in_a_drive_that_is_known(session: Session):
    found = find(session, "plover-50-s", "Tollwyne TW 669.2")
    assert found is not None
    assert found.asked is not None
    assert (found.need.belt.top_width_mm, found.asked.belt.top_width_mm) == (18.0, 17.6)
    # A narrower belt sinks between the closed faces of the front pulley, so it runs at a smaller radius.
    assert found.asked.span.drive_radius_high_mm < found.need.span.drive_radius_high_mm
    assert found.source.startswith("measured in the shop")


def test_belt_that_fits_is_the_same_in_both_places(session: Session):
    found = find(session, "plover-50-s", "669-18-30")
    assert found.asked.span.ratio_low == pytest.approx(found.need.span.ratio_low)


def test_without_the_angle_only_the_needed_belt_is_found(session: Session):
    assert find(session, "plover-50-s", "669-18").asked is None


@pytest.mark.parametrize(
    ("engine", "asked"),
    [
        ("dunlin-50-e", "732-17.5-30"),  # never measured
        ("plover-50-w", "669-18-30"),  # gaps of the rear pulley are missing
        ("plover-50-s", "Pimperlock PL1613-7G"),  # no belt
    ],
)
def test_nothing_is_found_where_the_drive_is_not_known_in_full(session: Session, engine: str, asked: str):
    assert find(session, engine, asked) is None
