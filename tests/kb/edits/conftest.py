"""A small shelf: three parts and two places, on a database of the test's own."""

from dataclasses import dataclass

import pytest
from sqlalchemy import Engine, insert, select

from kb.database import open_writer
from kb.tables.columns import get_table


@dataclass(frozen=True)
class Shelf:
    engine: Engine
    parts: tuple[int, ...]
    places: tuple[int, ...]
    supplier: int

    def read(self, table, *columns):
        with self.engine.connect() as connection:
            t = get_table(table)
            return [tuple(row) for row in connection.execute(select(*(t.c[name] for name in columns)))]


def fill_shelf(engine):
    with open_writer(engine) as session:

        def add(table, **values):
            t = get_table(table)
            return session.connection().execute(insert(t).values(**values).returning(t.c.id)).scalar_one()

        maker = add("maker", maker="Testmaker", maker_key="TESTMAKER")
        parts = tuple(
            add("part", maker_id=maker, part_number=f"T-{n}", part_number_key=f"T{n}", part_type="drive_belt")
            for n in range(3)
        )
        places = tuple(add("location", location=name) for name in ("counter", "van"))
        supplier = add("supplier", supplier="house", lead_time_days=6, currency="EUR")
    return Shelf(engine, parts, places, supplier)


@pytest.fixture
def shelf(database):
    return fill_shelf(database)
