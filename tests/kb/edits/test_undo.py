"""An import taken back: everything as before, or refused with what stands in the way."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from kb.database import open_writer
from kb.edits.undo import undo_batch
from kb.errors import Conflict, NotFound

NOW = datetime(2026, 2, 1, tzinfo=UTC)
SOURCES = "source,kind,title\nbook,manual,Shop book\nlist,supplier,Price list\n"
ENGINES = "engine,family,bore_mm,source\nfinch-50,finch,40,book\n"
PARTS = "maker,part_number,part_type,length_mm,source\nWren,B-743,drive_belt,743,list\n"
FITS = (
    "maker,part_number,engine,position,outcome,seen_on,source\n"
    "Wren,B-743,finch-50,drive_belt,fits,2026-01-01,book\n"
)
STOCK = "location,maker,part_number,on_hand\ncounter,Wren,B-743,5\n"
BASE = {"sources": SOURCES, "engines": ENGINES, "parts": PARTS}


def undo(engine, batch):
    with open_writer(engine) as session:
        return undo_batch(session, batch, NOW)


def test_first_import_is_taken_back_to_nothing(database, load_files, read_tables):
    before = read_tables(database)
    report = undo(database, load_files(database, **BASE, fits=FITS).batch)
    assert read_tables(database) == before
    assert report.removed == {
        "source": 2, "family": 1, "engine": 1, "maker": 1, "part": 1, "part_record": 1, "fit": 1,
    }  # fmt: skip
    assert (report.kept, report.restored, report.countered_movements) == ({}, {}, 0)


def test_changed_and_added_rows_are_as_before(database, load_files, read_tables):
    load_files(database, **BASE, fits=FITS)
    before = read_tables(database)
    second = load_files(
        database,
        sources=SOURCES.replace("Shop book", "Shop book second print") + "bench,measured,\n",
        engines=ENGINES.replace(",40,book", ",41.5,bench") + "finch-80,finch-big,47,\n",
        parts=PARTS.replace(",743,list", ",744,list") + "Lark,L-1,nut,,\n",
        fits=FITS.replace("2026-01-01", "2026-01-02"),
    )
    assert read_tables(database) != before
    report = undo(database, second.batch)
    assert read_tables(database) == before
    assert report.restored == {"source": 1, "engine": 1, "part_record": 1}


def test_dates_come_back_as_dates(database, load_files, read_tables):
    offers = (
        "supplier,maker,part_number,price,currency,seen_on,lead_time_days\nalder,Wren,B-743,5,EUR,2026-01-01,"
    )
    suppliers = "supplier,currency\nalder,EUR\n"
    load_files(database, **BASE, suppliers=suppliers, offers=offers + "1\n")
    before = read_tables(database)
    second = load_files(database, offers=offers + "2\n")
    undo(database, second.batch)
    assert read_tables(database) == before


def test_imports_are_taken_back_one_after_the_other(database, load_files, read_tables):
    empty = read_tables(database)
    first = load_files(database, **BASE).batch
    second = load_files(database, engines=ENGINES.replace(",40,", ",41,")).batch
    third = load_files(database, engines=ENGINES.replace(",40,", ",42,")).batch
    with pytest.raises(Conflict, match=f"import '{third}' changed rows of engine after it"):
        undo(database, second)
    for batch in (third, second, first):
        undo(database, batch)
    assert read_tables(database) == empty


def test_rows_changed_later_stand_in_the_way(database, load_files, read_tables):
    first = load_files(database, **BASE).batch
    second = load_files(database, engines=ENGINES.replace(",40,", ",41,")).batch
    before = read_tables(database)
    with pytest.raises(Conflict, match=f"import '{second}' changed rows of engine that it added"):
        undo(database, first)
    assert read_tables(database) == before


def test_rows_of_a_later_import_that_refer_to_it_stand_in_the_way(database, load_files, read_tables):
    first = load_files(database, **BASE).batch
    second = load_files(database, fits=FITS).batch
    before = read_tables(database)
    with pytest.raises(Conflict, match=f"import '{second}' made rows of fit that refer to its"):
        undo(database, first)
    assert read_tables(database) == before


def test_row_changed_by_hand_stands_in_the_way(database, load_files):
    first = load_files(database, **BASE).batch
    with open_writer(database) as session:
        session.execute(text("UPDATE engine SET bore_mm = 41, batch_id = NULL"))
    with pytest.raises(Conflict, match="an entry made by hand changed rows of engine that it added"):
        undo(database, first)


def test_names_made_on_demand_stay_while_a_later_import_uses_them(database, load_files):
    first = load_files(database, engines="engine,family\nfinch-50,finch\n").batch
    load_files(database, engines="engine,family\nfinch-80,finch\n")
    report = undo(database, first)
    assert report.removed == {"engine": 1}
    assert report.kept == {"source": 1, "family": 1}


def test_stock_is_countered_and_what_the_ledger_names_stays(database, load_files, read_tables):
    batch = load_files(database, **BASE, stock=STOCK).batch
    report = undo(database, batch)
    tables = read_tables(database)
    assert report.countered_movements == 1
    assert report.kept == {"maker": 1, "part": 1, "location": 1}
    assert tables["stock_count"] == tables["part_record"] == tables["engine"] == []
    with database.connect() as connection:
        moves = connection.execute(text("SELECT kind, quantity, note FROM stock_movement ORDER BY id")).all()
        assert [tuple(move) for move in moves] == [
            ("count", 5, "stock sheet"), ("count", -5, f"import {batch} taken back"),
        ]  # fmt: skip
        assert connection.execute(text("SELECT on_hand FROM stock_level")).scalar() == 0


def test_stock_can_be_loaded_again_after_an_undo(database, load_files):
    undo(database, load_files(database, **BASE, stock=STOCK).batch)
    again = load_files(database, **BASE, stock=STOCK)
    assert not again.has_problems
    with database.connect() as connection:
        assert connection.execute(text("SELECT on_hand FROM stock_level")).scalar() == 5
        assert connection.execute(text("SELECT sum(quantity) FROM stock_movement")).scalar() == 5


def test_pieces_that_were_sold_since_stand_in_the_way(database, load_files, read_tables):
    batch = load_files(database, **BASE, stock=STOCK).batch
    with open_writer(database) as session:
        session.execute(text("UPDATE stock_level SET on_hand = 3"))
    before = read_tables(database)
    with pytest.raises(Conflict, match="put 5 pieces of part 'B-743' at 'counter', of which 3 are left"):
        undo(database, batch)
    assert read_tables(database) == before


def test_batch_is_taken_back_once(database, load_files):
    batch = load_files(database, **BASE).batch
    undo(database, batch)
    with pytest.raises(Conflict, match="was taken back already on 2026-02-01"):
        undo(database, batch)


def test_unknown_batch_is_not_found_and_the_nearest_is_named(database, load_files):
    batch = load_files(database, **BASE).batch
    with pytest.raises(NotFound, match=f"'{batch[:-1]}x' is not known; the nearest spelling is '{batch}'"):
        undo(database, batch[:-1] + "x")
