"""Offers added column by column are stored, refused and told of as row by row."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from importers.mapping import build_mapping
from importers.run import ImportOptions
from importers.sheet_file import SheetFile, load_file
from kb.database import open_writer
from kb.edits import column_write
from kb.edits.catalogue import SheetEdit
from kb.edits.undo import undo_batch

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
    monkeypatch.setattr(column_write, "_write_columns", lambda _sheet, _group: False)
    assert load_offers(load_files, database, OFFERS).added == 4
    assert read_offers(database) == STORED


@pytest.mark.parametrize("order", ["AAABBBCCC", "ABCABCABC"])
def test_a_list_longer_than_a_statement_is_stored_line_by_line(sqlite_engine, load_files, order):
    parts = {"A": "Wren,B-743", "B": "Wren,B-750", "C": "Lark,B-743"}
    lines = [f"alder,{parts[letter]},S{place},{place},,," for place, letter in enumerate(order * 26, 1)]
    assert load_offers(load_files, sqlite_engine, HEADING + "\n".join(lines)).added == 234
    stored = [
        f"alder,{maker},{number},{sku},{cents // 100},,,"
        for _, maker, number, sku, cents, *_ in read_offers(sqlite_engine)
    ]
    assert stored == lines


def test_same_offers_again_go_by_columns_and_change_nothing(database, load_files, written_by_row):
    load_offers(load_files, database, OFFERS)
    again = load_offers(load_files, database, OFFERS)
    assert (again.added, again.changed, again.unchanged) == (0, 0, 4)
    assert written_by_row == []


LIST_HEADING = "Brand;Part No.;Order no.;Price;VPE;Lead time"


def load_list(engine, folder, *lines, day, heading=LIST_HEADING):
    path = folder / "list.csv"
    path.write_text("\n".join((heading, *lines)) + "\n")
    file = SheetFile(path, path.name, build_mapping({"kind": "offers", "values": {"supplier": "alder"}}))
    now = datetime(2026, 1, day, tzinfo=UTC)
    with open_writer(engine) as session:
        return load_file(session, file, now=now, options=ImportOptions(shown_changes=9))


@pytest.fixture(params=["by columns", "row by row"])
def way(request, monkeypatch):
    """Either way of writing offers."""
    if request.param == "row by row":
        monkeypatch.setattr(column_write, "_write_columns", lambda _sheet, _group: False)


def test_the_next_list_adds_changes_and_leaves_alone_either_way(database, load_files, tmp_path, way):
    load_offers(load_files, database, OFFERS)
    first = ("Wren;B-743;A1;12,50;1;3", "Wren;B-750;;0,70;;", "Lark;B-743;;4,00;1;2")
    load_list(database, tmp_path, *first, day=25)
    after_first = read_offers(database)
    # A new price stands beside the earlier one; without a delivery time the terms are others too.
    second = ("Wren;B-743;A1;12,90;1;3", "Wren;B-750;;0,70;;", "Lark;B-743;;4,00;1;", "Wren;B-750;;9;10;")
    report = load_list(database, tmp_path, *second, day=26)
    [file] = report.files
    assert (file.added, file.changed, file.unchanged) == (3, 0, 1)
    assert [(c.line, c.action, c.part_number) for c in file.changes] == [
        (2, "added", "B-743"),
        (4, "added", "B-743"),
        (5, "added", "B-750"),
    ]
    # The same day once more: the offer of the day is changed, what the list says nothing of stays.
    third = ("Wren;B-743;A1;12,80;1;", *second[1:])
    third_report = load_list(database, tmp_path, *third, day=26)
    [file] = third_report.files
    assert (file.added, file.changed, file.unchanged) == (0, 1, 3)
    assert [(c.line, c.before, c.after) for c in file.changes] == [
        (2, {"price_minor": 1290, "lead_time_days": 3}, {"price_minor": 1280, "lead_time_days": None})
    ]
    assert [row[3:] for row in read_offers(database)[4:]] == [
        ("A1", 1250, "EUR", 1, "2026-01-25"),
        (None, 70, "EUR", None, "2026-01-25"),
        (None, 400, "EUR", 1, "2026-01-25"),
        ("A1", 1280, "EUR", 1, "2026-01-26"),
        (None, 400, "EUR", 1, "2026-01-26"),
        (None, 900, "EUR", 10, "2026-01-26"),
    ]
    with open_writer(database) as session:
        for batch in (third_report.batch, report.batch):
            undo_batch(session, batch, datetime(2026, 1, 27, tzinfo=UTC))
    assert read_offers(database) == after_first


def test_a_price_of_nought_is_no_price_either_way(database, load_files, tmp_path, way):
    load_offers(load_files, database, HEADING)
    lines = "Wren;B-743;A1;0,00;1;3", "Wren;B-750;;0,70;;"
    [file] = load_list(database, tmp_path, *lines, day=25).files
    assert [(n.line, n.topic, n.column) for n in file.notices] == [(2, "assumed", "price")]
    assert [row[4] for row in read_offers(database)] == [None, 70]
    [again] = load_list(database, tmp_path, *lines, day=26).files
    assert (again.added, again.changed, again.unchanged) == (0, 0, 2)


def test_a_price_of_nought_in_a_catalogue_folder_is_no_price_either(database, load_files, way):
    file = load_offers(
        load_files, database, HEADING + "alder,Wren,B-743,A1,0,,1,\nalder,Wren,B-750,,0.00,,,\n"
    )
    assert [(n.line, n.topic, n.column) for n in file.notices] == [
        (2, "assumed", "price"),
        (3, "assumed", "price"),
    ]
    assert [row[4] for row in read_offers(database)] == [None, None]


def test_of_a_delivery_time_from_to_the_longer_end_is_kept_either_way(database, load_files, tmp_path, way):
    load_offers(load_files, database, HEADING)
    lines = "Wren;B-743;A1;12,50;1;2-3 weeks", "Wren;B-750;;0,70;;4"
    [file] = load_list(database, tmp_path, *lines, day=25).files
    assert [(n.line, n.value, n.message) for n in file.notices] == [
        (2, "2-3 weeks", "'2-3 weeks' was read as 21 days, the longer end.")
    ]
    with database.connect() as connection:
        days = connection.execute(text("SELECT lead_time_days FROM offer ORDER BY id")).scalars().all()
    assert days == [21, 4]


def test_a_delivery_time_of_which_the_list_says_nothing_stays_either_way(database, load_files, tmp_path, way):
    load_offers(load_files, database, HEADING)
    load_list(database, tmp_path, "Wren;B-743;A1;12,50;1;3", day=25)
    line, heading = "Wren;B-743;A1;12,60;1", LIST_HEADING.removesuffix(";Lead time")
    [file] = load_list(database, tmp_path, line, day=25, heading=heading).files
    assert (file.changed, [c.after for c in file.changes]) == (1, [{"price_minor": 1260}])


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
