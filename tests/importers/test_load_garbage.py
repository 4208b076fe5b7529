"""Whatever stands in the cells or the bytes of a file: problems come back, nothing else escapes."""

import csv
import io
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from importers.load import load_catalogue
from importers.sheets.catalogue import SHEETS
from kb.database import open_database, open_writer

NOW = datetime(2026, 1, 31, tzinfo=UTC)
GOOD_CELLS = [
    "finch-50",
    "book",
    "Wren",
    "B-743",
    "drive_belt",
    "manual",
    "fits",
    "supersedes",
    "EUR",
    "alder",
]
GOOD_CELLS += [
    "counter",
    "2026-01-31",
    "1",
    "0",
    "20",
    "743",
    "6.5",
    "clutch_springs",
    "socket",
    "belt",
    "slow",
    "",
]
CELLS = st.sampled_from(GOOD_CELLS) | st.text(max_size=20) | st.integers().map(str) | st.floats().map(str)
BASE = {
    "sources": "source,kind\nbook,manual\n",
    "engines": "engine\nfinch-50\n",
    "parts": "maker,part_number,part_type\nWren,B-743,drive_belt\n",
    "suppliers": "supplier,currency\nalder,EUR\n",
    "jobs": "job\nbelt\n",
    "symptoms": "symptom,title\nslow,Slow\n",
}


@pytest.fixture(scope="module")
def engine(sqlite_template, tmp_path_factory):
    path = tmp_path_factory.mktemp("garbage") / "counterhand.db"
    shutil.copyfile(sqlite_template, path)
    engine = open_database(str(path))
    yield engine
    engine.dispose()


def load_dry(engine, files):
    with tempfile.TemporaryDirectory() as folder, open_writer(engine) as session:
        for name, content in files.items():
            (Path(folder) / f"{name}.csv").write_bytes(content)
        return load_catalogue(session, Path(folder), now=NOW, dry_run=True)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.kind)
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_cells_give_rows_or_problems(engine, sheet, data):
    heading = [column.name for column in sheet.columns]
    rows = data.draw(st.lists(st.lists(CELLS, min_size=len(heading), max_size=len(heading)), max_size=4))
    sheet_text = io.StringIO()
    csv.writer(sheet_text).writerows([heading, *rows])
    files = {name: content.encode() for name, content in BASE.items()}
    report = load_dry(engine, files | {sheet.kind: sheet_text.getvalue().encode("utf-8", "surrogatepass")})
    [file] = [file for file in report.files if file.kind == sheet.kind]
    assert file.problem_count >= file.refused
    assert all(problem.message.endswith(".") for problem in file.problems)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=st.binary(max_size=200)
    | st.binary(max_size=60).map(lambda junk: b"engine,name\nfinch-50," + junk)
)
def test_any_bytes_give_rows_or_problems(engine, content):
    [file] = load_dry(engine, {"engines": content}).files
    assert file.problem_count or file.added <= 200
