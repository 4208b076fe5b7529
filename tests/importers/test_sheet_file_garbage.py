"""Whatever stands in a single file: rows or problems come back, and nothing is half-written."""

import importlib.util
import random
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from importers.mapping import build_mapping
from importers.run import ImportOptions
from importers.sheet_file import SheetFile, format_refused, inspect_file, load_file
from kb.database import open_writer

_spec = importlib.util.spec_from_file_location("messy_files", Path(__file__).with_name("messy_files.py"))
messy_files = importlib.util.module_from_spec(_spec)
sys.modules["messy_files"] = messy_files
_spec.loader.exec_module(messy_files)

NOW = datetime(2026, 1, 31, tzinfo=UTC)
QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
CELLS = st.sampled_from(
    [
        "Wren",
        "B-743",
        "drive belt",
        "12,50",
        "1.234,5 €",
        "743x20x30",
        "Total",
        "=1+1",
        "",
        " ",
        "'",
        "-",
        "NaN",
    ]
)
CELLS |= st.text(max_size=12) | st.floats().map(str)


@pytest.fixture
def load(sqlite_engine, load_files, tmp_path):
    load_files(sqlite_engine, parts="maker,part_number,part_type\nWren,B-743,drive_belt\n")
    load_files(sqlite_engine, suppliers="supplier,currency\nalder,EUR\n")

    def load(name, content, kind="offers", *, keeps_good_rows=False, **mapping):
        path = tmp_path / "upload"
        path.write_bytes(content)
        file = SheetFile(path, name, build_mapping({"kind": kind, **mapping}))
        with open_writer(sqlite_engine) as session:
            options = ImportOptions(dry_run=not keeps_good_rows, keeps_good_rows=keeps_good_rows)
            report = load_file(session, file, now=NOW, options=options)
            assert format_refused(file, report.files[0]) or not report.files[0].refused_lines
            session.rollback()
        inspect_file(file).as_json()
        return report

    return load


@settings(max_examples=150, deadline=None, suppress_health_check=QUIET)
@given(rows=st.lists(st.lists(CELLS, min_size=1, max_size=5), max_size=6), mark=st.sampled_from(",;\t"))
@pytest.mark.parametrize("kind", ["offers", "parts"])
def test_any_rows_give_rows_or_problems(load, kind, rows, mark):
    heading = ["Hersteller", "Part No.", "Description", "Price", "belt length"]
    lines = [mark.join(heading), *(mark.join(row) for row in rows)]
    content = "\n".join(lines).encode("utf-8", "surrogatepass")
    report = load("list.csv", content, kind, values={"supplier": "alder"} if kind == "offers" else {})
    [file] = report.files
    assert file.problem_count >= file.refused
    assert all(problem.message.endswith(".") for problem in file.problems)


TEXT_FILES = [messy for messy in messy_files.MESSY_FILES if messy.name.endswith((".csv", ".tsv", ".txt"))]
WORKBOOKS = [messy for messy in messy_files.MESSY_FILES if messy.name.endswith((".xlsx", ".ods"))]


def change_bytes(content, chance):
    changed = bytearray(content)
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(len(changed))
        if chance.random() < 0.3:
            del changed[place : place + chance.randint(1, 20)]
        else:
            changed[place] = chance.randrange(256)
    return bytes(changed or b"x")


@pytest.mark.parametrize("messy", TEXT_FILES, ids=lambda messy: messy.name)
def test_changed_bytes_of_a_text_file_leave_nothing_half_written(load, messy):
    chance = random.Random(messy.name)
    for _ in range(20):
        report = load(messy.name, change_bytes(messy.content, chance), messy.kind, **messy.mapping)
        assert report.batch is None


@pytest.mark.parametrize("messy", WORKBOOKS, ids=lambda messy: messy.name)
def test_changed_bytes_of_a_workbook_leave_nothing_half_written(load, messy):
    chance = random.Random(messy.name)
    for _ in range(3):
        report = load(messy.name, change_bytes(messy.content, chance), messy.kind, **messy.mapping)
        assert report.batch is None
