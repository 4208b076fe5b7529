"""Vehicles as a person names them."""

import pytest
from sqlmodel import Session

from kb.database import open_database, open_writer
from kb.lookups.vehicles import find_vehicle_names
from kb.migrate import upgrade_schema
from kb.tables.engines import Engine, Vehicle
from kb.tables.sources import Source


@pytest.fixture
def session():
    database = open_database(":memory:")
    upgrade_schema(database)
    with open_writer(database) as session:
        session.add(Source(id=1, source="m", kind="manual"))
        session.flush()
        session.add(Engine(id=1, engine="a-1", source_id=1))
        session.flush()
        yield session
    database.dispose()


@pytest.mark.parametrize(
    ("years", "name"),
    [
        ((2008, 2012), "Larrimer Sorrelle 50 (2008–2012)"),
        ((2014, None), "Larrimer Sorrelle 50 (2014–)"),
        ((None, 2012), "Larrimer Sorrelle 50 (–2012)"),
        ((2010, 2010), "Larrimer Sorrelle 50 (2010)"),
        ((None, None), "Larrimer Sorrelle 50"),
    ],
)
def test_years_are_shown_as_far_as_they_are_known(session: Session, years, name: str):
    session.add(
        Vehicle(
            make="Larrimer",
            model="Sorrelle 50",
            engine_id=1,
            source_id=1,
            year_from=years[0],
            year_to=years[1],
        )
    )
    session.flush()
    assert find_vehicle_names(session, {1}) == {1: [name]}


def test_engine_without_vehicles_has_none(session: Session):
    assert find_vehicle_names(session, {1, 2}) == {}
