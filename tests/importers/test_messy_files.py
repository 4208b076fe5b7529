"""Files as shops and suppliers send them give exactly the rows, refusals and notes that they should."""

import importlib.util
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from importers.mapping import build_mapping
from importers.run import ImportOptions
from importers.sheet_file import SheetFile, load_file
from kb.database import open_writer
from kb.edits.undo import undo_batch

_spec = importlib.util.spec_from_file_location("messy_files", Path(__file__).with_name("messy_files.py"))
messy_files = importlib.util.module_from_spec(_spec)
sys.modules["messy_files"] = messy_files
_spec.loader.exec_module(messy_files)

NOW = datetime(2026, 1, 31, 9, 30, tzinfo=UTC)
BASE = {
    "sources": "source,kind\nbook,manual\n",
    "engines": "engine\nfinch-50\n",
    "parts": (
        "maker,part_number,part_type,length_mm,top_width_mm,angle_deg,source\n"
        "Wren,B-743,drive_belt,743,20,30,book\nWren,R-16,roller_set,,,,book\n"
    ),
    "fits": "maker,part_number,engine,position,outcome,source\nWren,B-743,finch-50,drive_belt,fits,book\n",
    "suppliers": "supplier,currency\nalder,EUR\n",
}


def load_messy(engine, folder, messy, *, now=NOW, dry_run=False):
    path = folder / messy.name
    path.write_bytes(messy.content)
    file = SheetFile(path, messy.name, build_mapping({"kind": messy.kind, **messy.mapping}))
    options = ImportOptions(dry_run=dry_run, keeps_good_rows=messy.keeps_good_rows, shown_changes=5)
    with open_writer(engine) as session:
        return load_file(session, file, now=now, options=options)


@pytest.mark.parametrize("messy", messy_files.MESSY_FILES, ids=lambda messy: messy.name)
def test_messy_file_gives_what_it_should(sqlite_engine, load_files, read_tables, tmp_path, messy):
    load_files(sqlite_engine, **BASE)
    before = read_tables(sqlite_engine)
    dry = load_messy(sqlite_engine, tmp_path, messy, dry_run=True)
    assert (dry.batch, read_tables(sqlite_engine)) == (None, before)

    report = load_messy(sqlite_engine, tmp_path, messy)
    [file] = report.files
    counts = (file.added, file.changed, file.unchanged, file.refused)
    assert counts == (messy.added, messy.changed, messy.unchanged, messy.refused), file.problems
    assert [(problem.line, problem.column) for problem in file.problems] == list(messy.problems)
    assert {topic: file.notice_counts.get(topic) for topic in messy.topics} == messy.topics
    assert messy.says in " ".join(problem.message for problem in file.problems)
    assert all(problem.message.endswith(".") for problem in file.problems)
    if (messy.problems and not messy.keeps_good_rows) or not messy.added + messy.changed:
        assert (report.batch, read_tables(sqlite_engine)) == (None, before)
        return
    if messy.stored is not None:
        question, value = messy.stored
        with sqlite_engine.connect() as connection:
            assert connection.execute(text(question)).scalar_one() == value

    again = load_messy(sqlite_engine, tmp_path, messy, now=NOW + timedelta(days=1))
    assert (again.batch, again.files[0].added, again.files[0].changed) == (None, 0, 0)
    with open_writer(sqlite_engine) as session:
        undo_batch(session, report.batch, NOW)
    after = read_tables(sqlite_engine)
    # The ledger is never rewritten: its lines and the places that it names stay.
    ledger = {"stock_movement", "stock_level", "stock_out", "location"}
    assert {name: rows for name, rows in after.items() if name not in ledger} == {
        name: rows for name, rows in before.items() if name not in ledger
    }
    with sqlite_engine.connect() as connection:
        assert not connection.execute(text("SELECT SUM(on_hand) FROM stock_level")).scalar()


def test_there_are_forty_files_and_more():
    assert len({messy.name for messy in messy_files.MESSY_FILES}) == len(messy_files.MESSY_FILES) >= 40
