"""Lists that grow with the years: each page is read in the order of an index, from a mark on.

An index gives rows in their order without sorting them: SQLite then names the index in its plan and no
temporary tree (published: SQLite documentation, "EXPLAIN QUERY PLAN"). Balances are plain sums.
"""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine, event, text

from kb.database import open_reader, open_writer
from kb.edits.ledger import Entry, Place, add_issue, add_receipt
from kb.lookups.judgement import list_demand_days, list_levels_page
from kb.lookups.machine_jobs import list_ended_jobs, list_machine_jobs
from kb.lookups.orders import list_orders
from kb.lookups.stock import list_movements
from kb.lookups.suppliers import list_suppliers

NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)
TODAY = date(2026, 1, 31)
FILES = {
    "suppliers": "supplier\nkestrow\nlarkmoor\nwestmere\n",
    "parts": "maker,part_number,part_type\nWren,B-743,drive_belt\n",
    "stock": "location,maker,part_number,on_hand,counted_on\n"
    "counter,Wren,B-743,10,2026-01-14\nvan,Wren,B-743,3,2026-01-14\n",
}
PLANS = {
    "orders of all states": (lambda session: list_orders(session, TODAY, limit=3, before="2026-0009"), ()),
    "orders of one state": (
        lambda session: list_orders(session, TODAY, states=["sent"], limit=3, before="2026-0009"),
        ("ix_purchase_order_state_name (state=? AND order_name<?)",),
    ),
    "orders of two states": (
        lambda session: list_orders(session, TODAY, states=["sent", "draft"], limit=3),
        ("ix_purchase_order_state_name (state=?)", "ix_purchase_order_state_name (state=?)"),
    ),
    "jobs of one state": (
        lambda session: list_machine_jobs(session, limit=3, before=9),
        ("ix_machine_job_state (state=? AND id<?)",),
    ),
    "jobs by their end": (lambda session: list_ended_jobs(session, limit=3), ("ix_machine_job_ended",)),
    "the ledger of a part": (
        lambda session: list_movements(session, 1, limit=3, before=9),
        ("ix_stock_movement_part (part_id=? AND id<?)",),
    ),
    "levels by hand": (lambda session: list_levels_page(session, limit=3, before=9), ()),
}


def read_plans(engine: Engine, ask) -> list[str]:
    """What SQLite says of each statement of a question that reads no more than a page."""
    plans: list[str] = []

    def note(connection, cursor, statement, parameters, *_more):
        if " LIMIT " in statement.replace("\n", " ") and not statement.startswith("EXPLAIN"):
            plans.extend(row[3] for row in cursor.execute("EXPLAIN QUERY PLAN " + statement, parameters))

    event.listen(engine, "before_cursor_execute", note)
    with open_reader(engine) as session:
        ask(session)
    event.remove(engine, "before_cursor_execute", note)
    return plans


@pytest.mark.parametrize("name", PLANS)
def test_a_page_is_read_in_the_order_of_an_index(sqlite_engine, name):
    ask, indexes = PLANS[name]
    plans = read_plans(sqlite_engine, ask)
    assert plans
    named = [line for line in plans if any(index in line for index in indexes)]
    assert len(named) == len(indexes)
    if name != "the ledger of a part":  # that one puts the lines of the page, and no others, in order again
        assert not [line for line in plans if "ORDER BY" in line]


def test_each_line_of_the_ledger_has_the_balance_of_its_place_on_every_page(database, load_files):
    """10 pieces, 2 out, 5 in at the counter; 3 pieces, 1 out in the van, in between."""
    load_files(database, **FILES)
    with open_writer(database) as session:
        ids = dict(session.execute(text("SELECT location, id FROM location")).all())
        part_id = session.execute(text("SELECT id FROM part")).scalar_one()
        counter, van = Place(ids["counter"], part_id), Place(ids["van"], part_id)
        add_issue(session, counter, 2, Entry(NOW))
        add_issue(session, van, 1, Entry(NOW))
        add_receipt(session, counter, 5, Entry(NOW))
    with open_reader(database) as session:
        whole = [(line.location, line.quantity, line.balance) for line in list_movements(session, part_id)]
        pages, mark = [], None
        while page := list_movements(session, part_id, limit=2, before=mark):
            pages.extend((line.location, line.quantity, line.balance) for line in page)
            mark = page[-1].id
    assert whole[:3] == [("counter", 5, 13), ("van", -1, 2), ("counter", -2, 8)]
    assert sorted(whole[3:]) == [("counter", 10, 10), ("van", 3, 3)]
    assert pages == whole


def test_days_of_demand_go_on_behind_a_day_and_a_place(database, load_files):
    rows = ["2026-01-05,2", "2026-01-04,1", "2026-01-03,4"]
    places = ("counter", "van")
    demand = "".join(f"{place},Wren,B-743,{row}\n" for row in rows for place in places)
    load_files(database, **FILES, demand="location,maker,part_number,date,quantity\n" + demand)
    with open_reader(database) as session:
        part_id = session.execute(text("SELECT id FROM part")).scalar_one()
        days = list_demand_days(
            session, part_id, since=date.min, after=(date(2026, 1, 5), "counter"), limit=3
        )
    assert [(item.day.day, item.location, item.asked) for item in days] == [
        (5, "van", 2),
        (4, "counter", 1),
        (4, "van", 1),
    ]


def test_suppliers_go_on_behind_a_name_that_is_gone(database, load_files):
    load_files(database, **FILES)
    with open_reader(database) as session:
        assert [item.supplier for item in list_suppliers(session, after="l", limit=1)] == ["larkmoor"]
        assert [item.supplier for item in list_suppliers(session, after="larkmoor")] == ["westmere"]
