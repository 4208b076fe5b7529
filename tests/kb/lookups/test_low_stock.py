"""The low-stock list of stored shelves: pooled parts, superseded numbers, exposure, levels by hand."""

from dataclasses import astuple
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine, insert, select

from kb.database import open_database, open_reader, open_writer
from kb.edits.judgement import add_excluded_demand, change_manual_level
from kb.edits.ledger import Entry, Place, add_issue, add_receipt
from kb.errors import NotFound
from kb.lookups.low_stock import LowStockQuestion, Shelf, judge_part, list_low_stock
from kb.rules.reorder.demand_rate import compute_demand_sums
from kb.rules.reorder.stock_line import StockList, StockReason, StockWarning
from kb.tables.columns import get_table

AS_OF = date(2026, 11, 20)
ENTRY = Entry(datetime(2026, 11, 1, tzinfo=UTC), "ann", "a reason")
SUPPLIERS = "supplier,name,currency,minimum_order,lead_time_days\nhouse,House,EUR,100,9\n"
PARTS = "maker,part_number,part_type,status\n"
OFFERS = "supplier,maker,part_number,price,currency,pack_size,minimum_quantity,seen_on\n"
STOCK = "location,maker,part_number,on_hand,counted_on\n"
DEMAND = "location,maker,part_number,date,quantity\n"
REPLACED = "maker,part_number,by_maker,by_part_number,kind\n"


def write_demand(number: str, pieces: int, *, months=range(24), location: str = "counter") -> str:
    """One row in each month before the day of asking, counted backwards from October 2026."""
    rows = []
    for ago in months:
        count = 2026 * 12 + 9 - ago
        rows.append(f"{location},Millbrake,{number},{count // 12}-{count % 12 + 1:02d}-10,{pieces}\n")
    return "".join(rows)


def read_line(engine: Engine, number: str, location: str | None = "counter"):
    with open_reader(engine) as session:
        part = get_table("part").c
        part_id = session.execute(select(part.id).where(part.part_number == number)).scalar_one()
        return judge_part(session, part_id, LowStockQuestion(AS_OF, location)).line


def list_numbers(engine: Engine, location: str | None = "counter") -> set[str]:
    with open_reader(engine) as session:
        answer = list_low_stock(session, LowStockQuestion(AS_OF, location))
        return {item.line.part_number for item in answer.order}


def load_one(engine, load_files, *, on_hand: int, pieces: int, **files):
    load_files(
        engine,
        suppliers=SUPPLIERS,
        parts=PARTS + "Millbrake,A-1,drive_belt,current\n" + files.pop("more_parts", ""),
        offers=OFFERS + "house,Millbrake,A-1,10.00,EUR,1,1,2026-10-01\n" + files.pop("more_offers", ""),
        stock=STOCK + f"counter,Millbrake,A-1,{on_hand},2026-11-01\n" + files.pop("more_stock", ""),
        demand=DEMAND + write_demand("A-1", pieces) + files.pop("more_demand", ""),
        **files,
    )


def test_a_short_part_is_ordered_with_a_sentence(database, load_files):
    load_one(database, load_files, on_hand=1, pieces=3)
    line = read_line(database, "A-1")
    assert line.text.startswith("1 on the shelf, about 3 a month, supplier takes 9 days: order ")
    assert (line.listed_on, line.order.supplier) == (StockList.ORDER, "house")
    assert list_numbers(database) == {"A-1"}


def test_equal_parts_have_one_history_and_cover_each_other(database, load_files):
    equal = {
        "more_parts": "Millbrake,B-1,drive_belt,current\n",
        "more_stock": "counter,Millbrake,B-1,0,2026-11-01\n",
        "more_demand": write_demand("B-1", 2),
        "replacements": REPLACED + "Millbrake,A-1,Millbrake,B-1,same_size\n",
    }
    load_one(database, load_files, on_hand=40, pieces=1, **equal)
    line = read_line(database, "B-1")
    assert line.rate.rate_per_month == pytest.approx(3.0, rel=0.05)
    assert StockReason.COVERED_BY_EQUIVALENT in [reason.code for reason in line.reasons]
    assert list_numbers(database) == set()


def test_a_superseded_number_is_sold_down_and_the_new_one_ordered(database, load_files):
    """Old pieces do not serve those who need the new number: 20 old ones, none of the new."""
    superseded = {
        "more_parts": "Millbrake,B-1,drive_belt,current\n",
        "more_offers": "house,Millbrake,B-1,12.00,EUR,1,1,2026-10-01\n",
        "more_stock": "counter,Millbrake,B-1,0,2026-11-01\n",
        "more_demand": write_demand("B-1", 3, months=range(6)),
        "replacements": REPLACED + "Millbrake,A-1,Millbrake,B-1,supersedes\n",
    }
    load_one(database, load_files, on_hand=20, pieces=1, **superseded)
    line = read_line(database, "A-1")
    assert (line.part_number, line.listed_on) == ("B-1", StockList.ORDER)
    assert StockReason.NEW_NUMBER_SHORT in [reason.code for reason in line.reasons]
    assert line.order.quantity > 0


def test_a_part_without_history_or_supplier_is_left_to_a_person(database, load_files):
    load_one(
        database,
        load_files,
        on_hand=40,
        pieces=3,
        more_parts="Millbrake,N-1,drive_belt,\n",
        more_stock="counter,Millbrake,N-1,0,2026-11-01\n",
    )
    line = read_line(database, "N-1")
    assert line.order.needs_person
    assert line.order.quantity == 1
    codes = [reason.code for reason in line.reasons]
    assert StockReason.NO_HISTORY in codes
    assert StockReason.LEAD_TIME_NOT_KNOWN in codes


def test_a_level_set_by_hand_holds_at_its_place(database, load_files):
    load_one(database, load_files, on_hand=40, pieces=3)
    with open_writer(database) as session:
        change_manual_level(session, 1, 50, location_id=1, entry=ENTRY)
    assert read_line(database, "A-1").order.raw_need == 10
    assert read_line(database, "A-1", None).order.raw_need == 0


def test_demand_taken_out_by_a_person_is_not_forecast(database, load_files):
    more = "counter,Millbrake,A-1,2026-10-12,100\n"
    load_one(database, load_files, on_hand=8, pieces=1, more_demand=more)
    assert read_line(database, "A-1").rate.rate_per_month > 5
    with open_writer(database) as session:
        add_excluded_demand(session, Place(1, 1), 100, day=date(2026, 10, 12), entry=ENTRY)
    line = read_line(database, "A-1")
    assert line.rate.rate_per_month == pytest.approx(1.0, abs=0.1)
    assert StockWarning.EXCLUDED_DEMAND in line.warnings


def test_months_with_an_empty_shelf_count_as_shorter(database, load_files):
    """Sold out on 1 September and received again on 1 November: two months without a piece."""
    load_one(database, load_files, on_hand=5, pieces=3)
    months = get_table("demand_month")
    before = read_line(database, "A-1").rate.rate_per_month
    with open_writer(database) as session:
        september, november = datetime(2026, 9, 1, tzinfo=UTC), datetime(2026, 11, 1, tzinfo=UTC)
        add_issue(session, Place(1, 1), 5, Entry(september))
        add_receipt(session, Place(1, 1), 5, Entry(november))
        session.connection().execute(
            months.update().where(months.c.month.in_([2026 * 12 + 8, 2026 * 12 + 9])).values(pieces=0)
        )
    line = read_line(database, "A-1")
    assert StockWarning.STOCK_OUT_MONTHS in line.warnings
    assert line.rate.rate_per_month == pytest.approx(before, rel=0.05)


def test_all_places_are_one_shelf_and_one_place_is_its_own(database, load_files):
    load_one(
        database,
        load_files,
        on_hand=0,
        pieces=1,
        more_stock="branch,Millbrake,A-1,40,2026-11-01\n",
        more_demand=write_demand("A-1", 1, location="branch"),
    )
    assert list_numbers(database, "counter") == {"A-1"}
    assert list_numbers(database, None) == set()
    assert read_line(database, "A-1", None).rate.rate_per_month == pytest.approx(2.0, rel=0.05)


def test_an_order_on_its_way_is_counted_and_chased_when_late(database, load_files):
    load_one(database, load_files, on_hand=0, pieces=1)
    with open_writer(database) as session:
        connection = session.connection()
        order = {
            "id": 1,
            "order_name": "2026-0001",
            "supplier_id": 1,
            "location_id": 1,
            "state": "sent",
            "made_at_utc": ENTRY.made_at,
        }
        connection.execute(insert(get_table("purchase_order")).values(**order))
        line = {
            "order_id": 1,
            "part_id": 1,
            "quantity": 30,
            "received": 0,
            "cancelled": 0,
            "due_on": date(2026, 11, 15),
        }
        connection.execute(insert(get_table("purchase_order_line")).values(**line))
    with open_reader(database) as session:
        answer = list_low_stock(session, LowStockQuestion(AS_OF, "counter"))
    assert answer.order == ()
    (chased,) = answer.chase
    assert (chased.line.stock.on_order, chased.line.stock.late_days) == (30, 5)


def test_an_empty_database_has_nothing_low_and_no_location(database):
    with open_reader(database) as session:
        assert list_low_stock(session, LowStockQuestion(AS_OF)).lines == ()
        with pytest.raises(NotFound, match="'counter' is not known"):
            list_low_stock(session, LowStockQuestion(AS_OF, "counter"))


@pytest.mark.parametrize("location", ["counter", "branch", None])
def test_the_quick_look_leaves_out_no_line_that_is_low(demo_path, location):
    """Every group of the demo judged exactly, against those that the quick look keeps."""
    engine = open_database(str(demo_path))
    with open_reader(engine) as session:
        shelf = Shelf(session, LowStockQuestion(AS_OF, location))
        groups = shelf.list_groups()
        listed = {
            group
            for group, item in zip(groups, shelf.judge(groups), strict=True)
            if item.line.listed_on is not None
        }
        kept = set(shelf.list_doubtful())
    engine.dispose()
    assert listed <= kept
    assert len(listed) > 20
    assert len(kept) < 0.8 * len(groups)


def test_sums_made_by_the_database_are_those_of_the_rule(demo_path):
    engine = open_database(str(demo_path))
    with open_reader(engine) as session:
        shelf = Shelf(session, LowStockQuestion(AS_OF, "counter"))
        sums = shelf.history.read_sums()
        months = shelf.history.read_months(sums)
        for part_id, (_part, first, pieces, most) in sums.items():
            kind = shelf.history.get_type(shelf.types[part_id])
            exact = shelf.history.compute_sums(shelf.types[part_id], months[part_id], start=first, shares={})
            assert pieces == pytest.approx(exact.pieces)
            assert pieces * most / kind.lowest_factor >= exact.squares - 1e-9
            run = range(first, shelf.history.last_month + 1)
            asked = [months[part_id].get(month, 0) for month in run]
            by_rule = compute_demand_sums(asked, [kind.season.factors[month % 12] for month in run])
            assert astuple(exact) == pytest.approx(astuple(by_rule))
            assert kind.compute_weights(first) == pytest.approx((exact.exposure_months, exact.months))
    engine.dispose()
    assert len(sums) > 100
