"""A backup comes back as it was; the database before it is set aside; doubt changes nothing."""

import json
import sqlite3
import stat
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from importlib.resources import files

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from kb.backup import sqlite_copy
from kb.backup.make import make_backup
from kb.backup.restore import restore_backup
from kb.backup.sealed_file import read_manifest, seal
from kb.database import open_database, open_reader, open_writer
from kb.errors import BadInput, Conflict, Unavailable
from kb.lookups.check import check_database
from kb.migrate import HEAD, find_schema_version

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
ASIDE = "counterhand.before-restore-20260302T120000Z.db"


def add_family(engine, name):
    with open_writer(engine) as session:
        session.execute(text("INSERT INTO family (family) VALUES (:name)"), {"name": name})


def list_families(path):
    with closing(sqlite3.connect(path)) as connection:
        return [row[0] for row in connection.execute("SELECT family FROM family ORDER BY 1")]


def change_manifest(backup, target, **changes):
    """A whole backup that says something else of itself."""
    manifest = read_manifest(backup)
    target.write_bytes(backup.read_bytes()[: manifest.copy_bytes])
    seal(target, replace(manifest, **changes))
    return target


def test_restored_tables_are_those_backed_up(live, stocked, backup, read_tables, tmp_path):
    before = read_tables(stocked)
    restore_backup(str(tmp_path / "fresh.db"), backup, now=NOON)
    fresh = open_database(str(tmp_path / "fresh.db"))
    assert read_tables(fresh) == before
    assert sum(len(rows) for rows in before.values()) > 10
    with open_reader(fresh) as session:
        assert all(result.ok for result in check_database(session))
    fresh.dispose()
    assert stat.S_IMODE((tmp_path / "fresh.db").stat().st_mode) == 0o600


def test_live_database_is_set_aside_with_its_last_writes(live, stocked, backup):
    add_family(stocked, "wren")
    stocked.dispose()
    restored = restore_backup(str(live), backup, now=NOON)
    assert restored.set_aside == live.with_name(ASIDE)
    assert list_families(live) == []
    assert list_families(live.with_name(ASIDE)) == ["wren"]


def test_second_restore_in_the_same_second_overwrites_nothing(live, stocked, backup):
    add_family(stocked, "wren")
    stocked.dispose()
    restore_backup(str(live), backup, now=NOON)
    second = restore_backup(str(live), backup, now=NOON)
    assert second.set_aside == live.with_name(ASIDE.replace("Z.db", "Z-2.db"))
    assert list_families(live.with_name(ASIDE)) == ["wren"]


def test_database_in_use_is_left_alone(live, stocked, backup):
    with stocked.connect(), pytest.raises(Conflict, match="in use"):
        restore_backup(str(live), backup, now=NOON)
    add_family(stocked, "wren")
    assert not live.with_name(ASIDE).exists()


def test_damaged_live_database_is_set_aside_as_it_is(live, stocked, backup):
    stocked.dispose()
    live.write_bytes(b"Dear customer " * 1000)
    live.with_name("counterhand.db-wal").write_bytes(b"old log")
    restore_backup(str(live), backup, now=NOON)
    assert live.with_name(ASIDE).read_bytes().startswith(b"Dear customer")
    assert live.with_name(ASIDE + "-wal").read_bytes() == b"old log"
    assert not live.with_name("counterhand.db-wal").exists()
    assert list_families(live) == []


@pytest.mark.parametrize("place", [100, 5000, -200, -10])
def test_damaged_backup_changes_nothing(live, stocked, backup, place):
    stocked.dispose()
    content = bytearray(backup.read_bytes())
    content[place] ^= 1
    backup.write_bytes(content)
    before = live.read_bytes()
    names = sorted(path.name for path in live.parent.iterdir())
    with pytest.raises(BadInput):
        restore_backup(str(live), backup, now=NOON)
    assert live.read_bytes() == before
    assert sorted(path.name for path in live.parent.iterdir()) == names


def test_failure_at_the_last_step_leaves_the_old_database(live, stocked, backup, monkeypatch):
    add_family(stocked, "wren")
    stocked.dispose()

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(sqlite_copy.os, "replace", fail)
    with pytest.raises(Unavailable, match="No space left"):
        restore_backup(str(live), backup, now=NOON)
    assert list_families(live) == ["wren"]


def test_newer_schema_is_refused_with_both_numbers(live, stocked, backup, tmp_path):
    newer = change_manifest(backup, tmp_path / "newer.backup", schema="9999")
    with pytest.raises(Unavailable, match=f"'9999'.*'{HEAD}'"):
        restore_backup(str(live), newer, now=NOON)


def test_older_schema_is_backed_up_and_brought_up_to_date(tmp_path):
    old = open_database(str(tmp_path / "old.db"))
    config = Config()
    config.set_main_option("script_location", str(files("kb") / "migrations"))
    config.attributes["engine"] = old
    command.upgrade(config, "0001")
    add_family(old, "wren")
    old.dispose()
    manifest = make_backup(str(tmp_path / "old.db"), tmp_path / "old.backup", now=NOON)
    assert manifest.schema == "0001"
    restored = restore_backup(str(tmp_path / "fresh.db"), tmp_path / "old.backup", now=NOON)
    assert (restored.manifest.schema, restored.schema) == ("0001", HEAD)
    fresh = open_database(str(tmp_path / "fresh.db"))
    assert find_schema_version(fresh) == HEAD
    fresh.dispose()
    assert list_families(tmp_path / "fresh.db") == ["wren"]


def test_backup_that_counts_other_rows_than_it_holds_is_refused(live, stocked, backup, tmp_path):
    rows = {**read_manifest(backup).rows, "part": 3}
    wrong = change_manifest(backup, tmp_path / "wrong.backup", rows=rows)
    with pytest.raises(BadInput, match="does not hold what its manifest says"):
        restore_backup(str(tmp_path / "fresh.db"), wrong, now=NOON)
    assert not (tmp_path / "fresh.db").exists()


def test_backup_of_the_other_kind_of_database_is_refused(backup, tmp_path):
    other = change_manifest(backup, tmp_path / "other.backup", database="postgresql")
    with pytest.raises(BadInput, match="postgresql, but --db names sqlite"):
        restore_backup(str(tmp_path / "fresh.db"), other, now=NOON)


def test_manifest_is_readable_json(backup):
    line = backup.read_bytes().rpartition(b"\ncounterhand-backup-1 ")[2].splitlines()[0]
    assert json.loads(line)["schema"] == HEAD
