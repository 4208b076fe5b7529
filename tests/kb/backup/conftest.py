"""A database with a little stock in it, and a backup of it."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from kb.backup.make import make_backup

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
PARTS = "maker,part_number,part_type,description\nBrackenloop,B-1,drive_belt,belt\nBrackenloop,B-2,nut,nut\n"
STOCK = "location,maker,part_number,on_hand,counted_on\ncounter,Brackenloop,B-1,4,2026-01-31\n"


@pytest.fixture
def stocked(sqlite_engine: Engine, load_files) -> Engine:
    assert not load_files(sqlite_engine, parts=PARTS, stock=STOCK).has_problems
    return sqlite_engine


@pytest.fixture
def live(stocked: Engine, tmp_path: Path) -> Path:
    """The file of the database, open and with its last writes still in the log."""
    assert stocked.url.database is None
    assert (tmp_path / "counterhand.db-wal").stat().st_size > 0
    return tmp_path / "counterhand.db"


@pytest.fixture
def backup(live: Path, tmp_path: Path) -> Path:
    make_backup(str(live), tmp_path / "monday.backup", now=NOON)
    return tmp_path / "monday.backup"
