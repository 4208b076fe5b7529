"""An import that is killed leaves all of its rows or none, and the database sound.

``kill -9`` ends a program, not the system: what it does not try is a loss of power.
"""

import os
import signal
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

CATALOGUE = Path(__file__).parents[3] / "demo_catalog"
pytestmark = pytest.mark.skipif(os.name != "posix", reason="SIGKILL")


def count_rows(path):
    with closing(sqlite3.connect(path)) as connection:
        tables = ("part", "engine", "fit", "offer", "import_batch")
        return [connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables]


@pytest.fixture
def empty(sqlite_template, tmp_path):
    """A database with tables and no rows."""
    path = tmp_path / "shop.db"
    path.write_bytes(sqlite_template.read_bytes())
    return path


def measure_log(path):
    log = path.with_name(path.name + "-wal")
    return log.stat().st_size if log.exists() else -1


# The first page of the commit is written; half of it is.
@pytest.mark.parametrize("log_bytes", [1, 700_000])
def test_killed_import_wrote_nothing_or_all(start, run, empty, demo_path, log_bytes):
    process = start("import", CATALOGUE, "--db", empty)
    while process.poll() is None and measure_log(empty) < log_bytes:
        pass
    process.send_signal(signal.SIGKILL)
    process.wait(10)
    whole = count_rows(demo_path)
    assert count_rows(empty) in ([0, 0, 0, 0, 0], whole)
    assert run("check", "--db", empty).returncode == 0
    assert run("import", CATALOGUE, "--db", empty).returncode == 0
    assert count_rows(empty) == whole
