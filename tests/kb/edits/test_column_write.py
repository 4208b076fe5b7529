"""Offers added column by column are stored, refused and told of as row by row."""

import pytest
from sqlalchemy import text

from kb.edits import column_write
from kb.edits.catalogue import SheetEdit

PARTS = "maker,part_number,part_type\nWren,B-743,other\nWren,B-750,other\nLark,B-743,other\n"
SUPPLIERS = "supplier,currency\nalder,EUR\nbirch,KWD\ncedar,\n"
HEADING = "supplier,maker,part_number,supplier_sku,price,currency,pack_size,seen_on\n"
# Backslashes mean something to COPY and nothing here.
OFFERS = HEADING + (
    "alder,Wren,B-743,A\\N,12.50,,1,2026-01-20\n"
    "alder,Wren,B-750,\\N,0.07,USD,,\n"
    "birch,Lark,B-743,Ä\\\\t1,1.234,,10,2026-01-20\n"
    "alder,Lark,B-743,,,,1,\n"
)
STORED = [
    ("alder", "Wren", "B-743", "A\\N", 1250, "EUR", 1, "2026-01-20"),
    ("alder", "Wren", "B-750", "\\N", 7, "USD", None, None),
    # ISO 4217: the dinar of Kuwait has three decimals (from memory).
    ("birch", "Lark", "B-743", "Ä\\\\t1", 1234, "KWD", 10, "2026-01-20"),
    ("alder", "Lark", "B-743", None, None, "EUR", 1, None),
]
QUESTION = text(
    "SELECT s.supplier, m.maker, p.part_number, o.supplier_sku, o.price_minor, o.currency, o.pack_size, "
    "CAST(o.seen_on AS TEXT) FROM offer o JOIN supplier s ON s.id = o.supplier_id "
    "JOIN part p ON p.id = o.part_id JOIN maker m ON m.id = p.maker_id ORDER BY o.id"
)


def read_offers(engine):
    with engine.connect() as connection:
        return [tuple(row) for row in connection.execute(QUESTION)]


@pytest.fixture
def written_by_row(monkeypatch):
    """Numbers of rows that went row by row into offers."""
    counts = []
    write = SheetEdit.write

    def count(sheet, rows):
        if sheet.target.table == "offer":
            counts.append(len(rows))
        write(sheet, rows)

    monkeypatch.setattr(SheetEdit, "write", count)
    return counts


@pytest.fixture(params=[2, 100])
def groups(monkeypatch, request):
    """Files are read in groups of so many rows."""
    monkeypatch.setattr("importers.row_groups.ROWS_PER_GROUP", request.param)


def load_offers(load_files, engine, offers):
    report = load_files(engine, parts=PARTS, suppliers=SUPPLIERS, offers=offers)
    return next(file for file in report.files if file.kind == "offers")


def test_new_offers_are_stored_by_columns_on_both_databases(database, load_files, written_by_row):
    assert load_offers(load_files, database, OFFERS).added == 4
    assert written_by_row == []
    assert read_offers(database) == STORED


def test_the_same_offers_are_stored_row_by_row(database, load_files, monkeypatch):
    monkeypatch.setattr(column_write, "_add_columns", lambda _sheet, _group: False)
    assert load_offers(load_files, database, OFFERS).added == 4
    assert read_offers(database) == STORED


def test_same_offers_again_go_row_by_row_and_change_nothing(sqlite_engine, load_files, written_by_row):
    load_offers(load_files, sqlite_engine, OFFERS)
    again = load_offers(load_files, sqlite_engine, OFFERS)
    assert (again.added, again.changed, again.unchanged) == (0, 0, 4)
    assert written_by_row == [4]


def test_further_supplier_of_stored_parts_goes_by_columns(sqlite_engine, load_files, written_by_row):
    load_offers(load_files, sqlite_engine, OFFERS)
    offers = HEADING + "cedar,Wren,B-743,C1,9,EUR,1,2026-01-21\n"
    assert load_offers(load_files, sqlite_engine, offers).added == 1
    assert written_by_row == []


@pytest.mark.parametrize(
    ("row", "part_of_sentence"),
    [
        ("alder,Wren,B-743,A\\N,12.60,,1,2026-01-20", "The row names the same thing as line 2"),
        ("aldr,Wren,B-743,,1,,,", "Supplier 'aldr' is not in the catalogue; "),
        ("alder,Wrn,B-743,,1,,,", "Maker 'Wrn' is not in the catalogue; "),
        ("alder,Wren,B-744,,1,,,", "Part 'B-744' is not in the catalogue; "),
        ("alder,Wren,B-743,,1.005,,,", "Amount 1.005 has more decimals than EUR"),
        ("cedar,Wren,B-743,,1,,,", "Amount 1 has no currency"),
        ("alder,Wren,B-743,,9999999,KWD,,", "Amount 9999999 KWD is larger than can be kept"),
    ],
)
def test_rows_that_need_a_closer_look_get_their_sentence(
    sqlite_engine, load_files, groups, row, part_of_sentence
):
    report = load_offers(load_files, sqlite_engine, OFFERS + row + "\n")
    assert [(problem.line, part_of_sentence in problem.message) for problem in report.problems] == [(6, True)]
    assert read_offers(sqlite_engine) == []


def test_spelling_of_a_part_number_with_other_marks_still_finds_the_part(sqlite_engine, load_files):
    offers = HEADING + "alder,Wren,b 743,,1,,,\n"
    assert load_offers(load_files, sqlite_engine, offers).added == 1
    assert [row[2] for row in read_offers(sqlite_engine)] == ["B-743"]
