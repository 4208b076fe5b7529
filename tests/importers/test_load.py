"""A catalogue folder into the database: every kind of file, twice the same, all or nothing, counts."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import text

from importers.load import load_catalogue
from importers.sheets.catalogue import SHEETS
from kb.database import open_writer
from kb.errors import BadInput, Conflict

NOW = datetime(2026, 1, 31, tzinfo=UTC)
SOURCES = "source,kind,title\nbook,manual,Shop book\nlist,supplier,Price list\n"
ENGINES = "engine,family,name,strokes,bore_mm,source\nfinch-50,finch,Finch 50,2,40,book\n"
PARTS = (
    "maker,part_number,part_type,length_mm,top_width_mm,angle_deg,source\n"
    "Wren,B-743,drive_belt,743,20,30,list\n"
    "Wren,B-750,drive_belt,750,20,30,list\n"
)
# One row of every kind of sheet, and the row as it must be stored (references as names).
ROWS = {
    "sources": (
        "source,kind,title,edition,locator\nbook,manual,Shop book,2,p. 7\n",
        "source",
        {"locator": "p. 7"},
    ),
    "engines": (ENGINES, "engine", {"engine": "finch-50", "strokes": 2, "bore_mm": 40.0}),
    "features": (
        "engine,quantity,value,unit,how,source\nfinch-50,case_length,402,mm,tape,book\n",
        "feature",
        {"quantity": "case_length", "value": "402", "unit": "mm", "how": "tape"},
    ),
    "vehicles": (
        "make,model,year_from,year_to,engine,note,source\nLark,Hop,2008,2012,finch-50,,book\n",
        "vehicle",
        {"make": "Lark", "model": "Hop", "year_from": 2008, "year_to": 2012, "note": None},
    ),
    "drives": (
        "engine,centre_distance_mm,drive_gap_open_mm,drive_gap_closed_mm,tyre,clutch_rpm,source\n"
        "finch-50,221,22.9,13.05,3.50-10,1380,book\n",
        "drive",
        {"centre_distance_mm": 221.0, "drive_gap_closed_mm": 13.05, "tyre": "3.50-10", "cord_depth_mm": None},
    ),
    "belt_needs": (
        "engine,length_mm,length_kind,top_width_mm,angle_deg,top_width_limit_mm,source\n"
        "finch-50,743,outside,20,30,18.5,book\n",
        "belt_need",
        {"length_mm": 743.0, "length_kind": "outside", "top_width_limit_mm": 18.5, "thickness_mm": None},
    ),
    "roller_needs": (
        "engine,diameter_mm,width_mm,mass_g,count,source\nfinch-50,16,13,6.5,6,book\n",
        "roller_need",
        {"diameter_mm": 16.0, "mass_g": 6.5, "count": 6},
    ),
    "spring_needs": (
        "engine,position,free_length_mm,wire_mm,coil_mm,source\nfinch-50,contra_spring,108,3.9,45,book\n",
        "spring_need",
        {"position": "contra_spring", "free_length_mm": 108.0, "coil_mm": 45.0, "count": None},
    ),
    "size_needs": (
        "engine,position,bore_mm,outside_mm,width_mm,clearance,source\nfinch-50,cover_bearing,12,32,10,C3,book\n",
        "size_need",
        {"position": "cover_bearing", "bore_mm": 12.0, "clearance": "C3", "form": None},
    ),
    "wear_limits": (
        "engine,position,quantity,nominal,limit,sense,unit,source\nfinch-50,clutch_bell,bore,107,107.5,max,mm,book\n",
        "wear_limit",
        {"quantity": "bore", "nominal": 107.0, "limit": 107.5, "sense": "max", "unit": "mm"},
    ),
    "fasteners": (
        "engine,position,thread,hand,drive,across_flats_mm,torque_min_nm,torque_max_nm,single_use,source\n"
        "finch-50,crank_nut,M10x1.25,right,hex,17,35,41,1,book\n",
        "fastener",
        {"thread": "M10x1.25", "torque_min_nm": 35.0, "torque_nm": None, "single_use": 1},
    ),
    "parts": (
        "maker,part_number,part_type,gtin,status,length_mm,source\nWren,B-743,drive_belt,2900000012349,current,743,list\n",
        "part_record",
        {"gtin": "02900000012349", "status": "current", "length_mm": 743.0, "mass_g": None},
    ),
    "fits": (
        "maker,part_number,engine,position,outcome,note,seen_on,source\n"
        "Wren,B-743,finch-50,drive_belt,fits,on the bench,2026-01-30,book\n",
        "fit",
        {"position": "drive_belt", "outcome": "fits", "note": "on the bench", "seen_on": "2026-01-30"},
    ),
    "replacements": (
        "maker,part_number,by_maker,by_part_number,kind,source\nWren,B-743,Wren,B-750,supersedes,list\n",
        "replacement",
        {"kind": "supersedes"},
    ),
    "suppliers": (
        "supplier,name,currency,minimum_order,lead_time_days,note\nalder,Alder Parts,EUR,150.50,3,\n",
        "supplier",
        {"supplier": "alder", "minimum_order_minor": 15050, "lead_time_days": 3},
    ),
    "offers": (
        "supplier,maker,part_number,supplier_sku,price,currency,pack_size,minimum_quantity,seen_on\n"
        "alder,Wren,B-743,A1,32.32,,1,1,2026-01-20\n",
        "offer",
        {"supplier_sku": "A1", "price_minor": 3232, "currency": "EUR", "seen_on": "2026-01-20"},
    ),
    "stock": (
        "location,maker,part_number,on_hand,counted_on\ncounter,Wren,B-743,14,2026-01-14\n",
        "stock_count",
        {"on_hand": 14, "counted_on": "2026-01-14"},
    ),
    "demand": (
        "location,maker,part_number,date,quantity\ncounter,Wren,B-743,2026-01-06,2\n",
        "demand",
        {"asked_on": "2026-01-06", "number_of_day": 1, "quantity": 2},
    ),
    "jobs": ("job,title,note\nbelt,Change the belt,\n", "job", {"job": "belt", "title": "Change the belt"}),
    "job_steps": (
        "job,step,text,position,needs_part,fastener,caution\nbelt,1,Undo the nut,crank_nut,0,1,Hot\n",
        "job_step",
        {"step": 1, "position": "crank_nut", "needs_part": 0, "fastener": 1, "caution": "Hot"},
    ),
    "tools": (
        "tool,kind,size_mm,min_nm,max_nm,owned,note\nwrench,torque_wrench,,10,60,1,\n",
        "tool",
        {"kind": "torque_wrench", "size_mm": None, "min_nm": 10.0, "owned": 1},
    ),
    "trade_names": (
        "part_type,name\ndrive_belt,rubber\n",
        "trade_name",
        {"part_type": "drive_belt", "name": "rubber"},
    ),
    "symptoms": (
        "symptom,title,words,source\nslow,Slow,lame;tired,book\n",
        "symptom",
        {"words": "lame;tired"},
    ),
    "symptom_causes": (
        "symptom,order,position,cause,check,quantity,job,source\nslow,1,drive_belt,Worn,Measure,top_width,belt,book\n",
        "symptom_cause",
        {"order": 1, "position": "drive_belt", "cause": "Worn", "check": "Measure", "quantity": "top_width"},
    ),
}
ALL_FILES = {kind: content for kind, (content, _table, _stored) in ROWS.items()} | {
    "sources": SOURCES,
    "parts": PARTS,
}


def read_all(engine, table):
    with engine.connect() as connection:
        return [dict(row) for row in connection.execute(text(f'SELECT * FROM "{table}"')).mappings()]


def test_test_data_covers_every_kind_of_sheet():
    assert set(ROWS) == {sheet.kind for sheet in SHEETS}


def test_files_come_in_the_order_of_the_documentation():
    assert [sheet.kind for sheet in SHEETS[:6]] == [
        "sources", "engines", "features", "vehicles", "drives", "belt_needs",
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ROWS)
def test_row_of_every_kind_is_stored_with_its_values(sqlite_engine, load_files, kind):
    content, table, stored = ROWS[kind]
    files = {"sources": SOURCES, "parts": content} if kind == "parts" else ALL_FILES | {"sources": SOURCES}
    report = load_files(sqlite_engine, **(files if kind != "sources" else {"sources": content}))
    assert not report.has_problems, report.as_json()
    row = read_all(sqlite_engine, table)[0]
    assert {name: row[name] for name in stored} == stored
    assert row["batch_id"] == 1


def test_all_kinds_load_on_both_databases_and_a_second_load_changes_nothing(
    database, load_files, read_tables
):
    first = load_files(database, **ALL_FILES)
    assert not first.has_problems, first.as_json()
    assert [file.added for file in first.files if file.added == 0] == []
    before = read_tables(database)
    second = load_files(database, **ALL_FILES)
    assert second.batch is None
    assert {(file.added, file.changed, file.refused) for file in second.files} == {(0, 0, 0)}
    assert [file.unchanged for file in second.files] == [file.added for file in first.files]
    assert read_tables(database) == before
    assert len(read_all(database, "import_batch")) == 1


def test_order_of_columns_and_rows_does_not_matter(sqlite_engine, load_files):
    load_files(sqlite_engine, sources=SOURCES, parts=PARTS)
    turned = "\n".join(
        ",".join(reversed(line.split(","))) for line in (PARTS.splitlines()[0], *PARTS.splitlines()[:0:-1])
    )
    report = load_files(sqlite_engine, sources=SOURCES, parts=turned)
    assert [file.unchanged for file in report.files] == [2, 2]


def test_missing_columns_and_empty_cells_are_not_known(sqlite_engine, load_files):
    load_files(sqlite_engine, engines="engine,strokes,cooling\nfinch-50,,  \n")
    row = read_all(sqlite_engine, "engine")[0]
    assert (row["strokes"], row["cooling"], row["bore_mm"], row["family_id"]) == (None, None, None, None)


def test_empty_source_is_the_source_that_is_not_stated(sqlite_engine, load_files):
    load_files(sqlite_engine, engines="engine,source\nfinch-50,\nfinch-80,\n")
    assert [(row["source"], row["kind"]) for row in read_all(sqlite_engine, "source")] == [("", "not_stated")]


def test_changed_row_is_counted_and_its_values_before_are_kept(database, load_files):
    load_files(database, sources=SOURCES, engines=ENGINES)
    report = load_files(database, sources=SOURCES, engines=ENGINES.replace(",40,", ",41.5,"))
    assert [(file.added, file.changed, file.unchanged) for file in report.files] == [(0, 0, 2), (0, 1, 0)]
    assert read_all(database, "engine")[0]["bore_mm"] == 41.5
    journal = [row for row in read_all(database, "import_change") if row["action"] == "changed"]
    assert '"bore_mm": 40.0' in journal[0]["before_json"]


def test_two_sources_may_say_different_things_of_one_part(sqlite_engine, load_files):
    report = load_files(
        sqlite_engine,
        sources=SOURCES,
        parts="maker,part_number,part_type,length_mm,source\n"
        "Wren,B-743,drive_belt,743,list\nWren,B-743,drive_belt,745,book\n",
    )
    assert report.files[1].added == 2
    assert len(read_all(sqlite_engine, "part")) == 1
    assert [row["length_mm"] for row in read_all(sqlite_engine, "part_record")] == [743.0, 745.0]


def test_same_fit_with_and_without_a_day_are_two_records(sqlite_engine, load_files):
    fits = (
        "maker,part_number,engine,position,outcome,seen_on,source\n"
        "Wren,B-743,finch-50,drive_belt,fits,,list\nWren,B-743,finch-50,drive_belt,fits,2026-01-01,list\n"
    )
    files = {"sources": SOURCES, "engines": ENGINES, "parts": PARTS, "fits": fits}
    assert load_files(sqlite_engine, **files).files[3].added == 2
    assert load_files(sqlite_engine, **files).files[3].unchanged == 2


@pytest.mark.parametrize(("maker", "number"), [("WREN", "B-743"), ("wren", "b 743"), ("Wren", "B743")])
def test_part_is_found_by_letters_and_digits(sqlite_engine, load_files, maker, number):
    stock = f"location,maker,part_number,on_hand\ncounter,{maker},{number},3\n"
    report = load_files(sqlite_engine, sources=SOURCES, parts=PARTS, stock=stock)
    assert not report.has_problems, report.as_json()
    assert len(read_all(sqlite_engine, "part")) == 2


def test_issues_of_one_day_are_numbered(sqlite_engine, load_files):
    demand = "location,maker,part_number,date,quantity\n" + "counter,Wren,B-743,2026-01-06,2\n" * 3
    load_files(sqlite_engine, sources=SOURCES, parts=PARTS, demand=demand)
    rows = read_all(sqlite_engine, "demand")
    assert [(row["number_of_day"], row["quantity"]) for row in rows] == [(1, 2), (2, 2), (3, 2)]


@pytest.mark.parametrize(
    ("row", "price_minor", "currency"),
    [
        ("12.5,", 1250, "EUR"),
        ("12.5,GBP", 1250, "GBP"),
        ("1250,JPY", 1250, "JPY"),
        ("1.250,KWD", 1250, "KWD"),
    ],
)
def test_price_is_kept_in_minor_units_of_its_currency(sqlite_engine, load_files, row, price_minor, currency):
    load_files(
        sqlite_engine,
        sources=SOURCES,
        parts=PARTS,
        suppliers="supplier,currency\nalder,EUR\n",
        offers=f"supplier,maker,part_number,price,currency\nalder,Wren,B-743,{row}\n",
    )
    offer = read_all(sqlite_engine, "offer")[0]
    assert (offer["price_minor"], offer["currency"]) == (price_minor, currency)


@pytest.mark.parametrize("dry_run", [True, False])
def test_nothing_is_written_in_a_dry_run_or_when_a_row_is_refused(database, load_files, read_tables, dry_run):
    load_files(database, sources=SOURCES, engines=ENGINES)
    before = read_tables(database)
    changed = ENGINES.replace(",40,", ",41.5,")
    bad = "" if dry_run else "finch-80,finch,Finch 80,2,wide,book\n"
    report = load_files(database, sources=SOURCES, engines=changed + bad, parts=PARTS, dry_run=dry_run)
    assert (report.batch, report.has_problems) == (None, not dry_run)
    assert [file.changed for file in report.files] == [0, 1, 0]
    assert [file.added for file in report.files] == [0, 0, 2]
    assert read_tables(database) == before
    assert len(read_all(database, "import_batch")) == 1


def test_transaction_that_is_not_committed_leaves_nothing(database, tmp_path, read_tables):
    """What a killed process leaves is what its transaction had not committed."""
    before = read_tables(database)
    (tmp_path / "engines.csv").write_text("engine\nfinch-50\n")
    with pytest.raises(KeyboardInterrupt):
        load_and_break(database, tmp_path)
    assert read_tables(database) == before
    assert read_all(database, "import_batch") == []


def load_and_break(engine, folder):
    with open_writer(engine) as session:
        report = load_catalogue(session, folder, now=NOW)
        assert report.batch is not None
        raise KeyboardInterrupt


def test_error_in_the_middle_of_a_load_leaves_nothing_of_it(sqlite_engine, tmp_path, read_tables):
    def fail(done, total, _rows):
        if done == total:
            raise RuntimeError

    before = read_tables(sqlite_engine)
    (tmp_path / "engines.csv").write_text("engine\nfinch-50\n")
    with open_writer(sqlite_engine) as session, pytest.raises(RuntimeError):
        load_catalogue(session, tmp_path, now=NOW, progress=fail)
    assert read_tables(sqlite_engine) == before


def test_progress_ends_at_the_total(sqlite_engine, tmp_path):
    seen = []
    (tmp_path / "sources.csv").write_text(SOURCES)
    (tmp_path / "engines.csv").write_text(ENGINES)
    with open_writer(sqlite_engine) as session:
        load_catalogue(session, tmp_path, now=NOW, progress=lambda *step: seen.append(step))
    total = len(SOURCES) + len(ENGINES)
    assert seen == sorted(seen)
    assert seen[-1] == (total, total, 3)


def test_batch_is_named_after_its_time_and_content(sqlite_engine, load_files):
    first = load_files(sqlite_engine, sources=SOURCES).batch
    assert first.startswith("20260131-120000-")
    batch = read_all(sqlite_engine, "import_batch")[0]
    assert (batch["batch"], batch["kind"], batch["state"]) == (first, "catalogue", "loaded")
    assert '"added": 2' in batch["report_json"]


def test_two_imports_of_one_second_have_two_names(sqlite_engine, load_files):
    sources = [f"source,kind\nbook-{n},manual\n" for n in range(2)]
    names = {load_files(sqlite_engine, sources=content).batch for content in sources}
    assert len(names) == 2


def test_report_has_the_shape_that_scripts_rely_on(sqlite_engine, load_files):
    report = load_files(sqlite_engine, dry_run=True, sources="source,kind\nbook,pamphlet\n").as_json()
    assert report.keys() >= {"batch", "dry_run", "files"}
    assert (report["batch"], report["dry_run"]) == (None, True)
    [file] = report["files"]
    assert file.keys() >= {"file", "kind", "added", "changed", "unchanged", "refused", "problems"}
    assert (file["file"], file["kind"], file["refused"]) == ("sources.csv", "sources", 1)
    assert file["problems"][0].keys() == {"line", "column", "value", "message"}


def test_other_kinds_of_files_are_ignored(sqlite_engine, tmp_path):
    (tmp_path / "sources.csv").write_text(SOURCES)
    (tmp_path / "README.md").write_text("Read me.")
    with open_writer(sqlite_engine) as session:
        report = load_catalogue(session, tmp_path, now=NOW)
    assert [file.file for file in report.files] == ["sources.csv"]


def test_unknown_csv_file_is_refused_with_the_nearest_name(sqlite_engine, load_files, read_tables):
    before = read_tables(sqlite_engine)
    report = load_files(sqlite_engine, sources=SOURCES, engine="engine\nfinch-50\n")
    assert report.files[1].problems[0].message == (
        "File 'engine.csv' is not one of a catalogue folder; the nearest is 'engines.csv'."
    )
    assert read_tables(sqlite_engine) == before


@pytest.mark.parametrize("folder", ["missing", "empty"])
def test_folder_without_sheets_is_refused(sqlite_engine, tmp_path, folder):
    (tmp_path / "empty").mkdir()
    with open_writer(sqlite_engine) as session, pytest.raises(BadInput, match="folder"):
        load_catalogue(session, Path(tmp_path / folder), now=NOW)


def test_rows_that_the_database_refuses_are_a_conflict(sqlite_engine, load_files, read_tables):
    with sqlite_engine.begin() as connection:
        connection.execute(
            text("CREATE TRIGGER busy BEFORE INSERT ON engine BEGIN SELECT RAISE(ABORT, 'taken'); END")
        )
    before = read_tables(sqlite_engine)
    with pytest.raises(Conflict, match="nothing was written; load again"):
        load_files(sqlite_engine, sources=SOURCES, engines=ENGINES)
    assert read_tables(sqlite_engine) == before


def test_two_imports_at_once_come_one_after_the_other(database, load_files):
    with ThreadPoolExecutor(2) as pool:
        loads = [pool.submit(load_files, database, **ALL_FILES) for _ in range(2)]
        batches = [load.result().batch for load in loads]
    assert batches.count(None) == 1
    assert len(read_all(database, "part")) == 2
