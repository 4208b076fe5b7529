"""A backup gets its name only when it is whole; nothing else is touched.

What is promised (a copy at one moment, verified before it counts, earlier backups kept, files for one user
only): SQLite documentation on the online backup interface; the rest is common practice, no source.
"""

import hashlib
import json
import os
import sqlite3
import stat
from contextlib import closing
from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from kb.backup.make import make_backup
from kb.backup.sealed_file import read_manifest
from kb.database import open_writer
from kb.errors import BadInput, Unavailable
from kb.migrate import HEAD

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def ask(path, query):
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
        return connection.execute(query).fetchall()


def test_backup_holds_what_was_committed_also_from_the_log(backup):
    assert ask(backup, "SELECT part_number FROM part ORDER BY 1") == [("B-1",), ("B-2",)]
    assert ask(backup, "SELECT on_hand FROM stock_level") == [(4,)]


def test_backup_is_one_file_that_sqlite_itself_finds_whole(backup):
    assert ask(backup, "PRAGMA integrity_check") == [("ok",)]
    assert ask(backup, "PRAGMA journal_mode") == [("delete",)]
    assert [path.name for path in backup.parent.iterdir() if "monday" in path.name] == ["monday.backup"]


def test_manifest_counts_rows_and_names_the_schema(backup):
    manifest = read_manifest(backup)
    assert (manifest.database, manifest.schema) == ("sqlite", HEAD)
    assert manifest.made_at_utc == "2026-03-01T12:00:00+00:00"
    assert (manifest.rows["part"], manifest.rows["stock_level"], manifest.rows["engine"]) == (2, 1, 0)


def test_last_line_is_the_sha_256_of_all_before_it(backup):
    content = backup.read_bytes()
    body, digest = content[:-66], content[-65:-1].decode()
    assert hashlib.sha256(body).hexdigest() == digest
    assert json.loads(body.rpartition(b"\ncounterhand-backup-1 ")[2])["rows"]["part"] == 2


def test_writer_goes_on_while_a_backup_is_made_and_is_not_in_it(live, stocked, tmp_path):
    with open_writer(stocked) as session:
        session.execute(text("INSERT INTO family (family) VALUES ('wren')"))
        make_backup(str(live), tmp_path / "now.backup", now=NOON)
    assert ask(tmp_path / "now.backup", "SELECT count(*) FROM family") == [(0,)]
    assert ask(live, "SELECT count(*) FROM family") == [(1,)]


def test_backup_is_for_its_owner_only_whatever_the_mask(live, tmp_path):
    before = os.umask(0)
    try:
        make_backup(str(live), tmp_path / "open.backup", now=NOON)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "open.backup").stat().st_mode) == 0o600


def test_earlier_backup_is_replaced_by_a_verified_one(live, stocked, backup):
    with open_writer(stocked) as session:
        session.execute(text("INSERT INTO family (family) VALUES ('wren')"))
    make_backup(str(live), backup, now=NOON)
    assert ask(backup, "SELECT family FROM family") == [("wren",)]


@pytest.mark.parametrize("name", ["letter.txt", "counterhand.db"])
def test_file_that_is_no_backup_is_left_alone(live, tmp_path, name):
    (tmp_path / "letter.txt").write_text("Dear customer")
    before = (tmp_path / name).read_bytes()
    with pytest.raises(BadInput, match="no backup"):
        make_backup(str(live), tmp_path / name, now=NOON)
    assert (tmp_path / name).read_bytes() == before


def test_stock_that_does_not_add_up_is_not_backed_up(live, stocked, backup):
    before = backup.read_bytes()
    with open_writer(stocked) as session:
        session.execute(text("UPDATE stock_level SET on_hand = 5"))
    names = sorted(path.name for path in backup.parent.iterdir())
    with pytest.raises(Unavailable, match="5 on hand but its movements add up to 4"):
        make_backup(str(live), backup, now=NOON)
    assert backup.read_bytes() == before
    assert sorted(path.name for path in backup.parent.iterdir()) == names


def test_damaged_database_is_not_backed_up(live, stocked, tmp_path):
    stocked.dispose()
    content = bytearray(live.read_bytes())
    content[4096 * 3 : 4096 * 30] = b"\x55" * 4096 * 27
    live.write_bytes(content)
    with pytest.raises(Unavailable):
        make_backup(str(live), tmp_path / "bad.backup", now=NOON)
    assert not [path for path in tmp_path.iterdir() if "bad.backup" in path.name]


def test_missing_database_and_missing_folder_are_explained(live, tmp_path):
    with pytest.raises(Unavailable, match="no database at"):
        make_backup(str(tmp_path / "none.db"), tmp_path / "x.backup", now=NOON)
    assert not (tmp_path / "none.db").exists()
    with pytest.raises(BadInput, match="make the folder"):
        make_backup(str(live), tmp_path / "no" / "x.backup", now=NOON)


def test_empty_database_is_not_backed_up(tmp_path):
    sqlite3.connect(tmp_path / "empty.db").close()
    (tmp_path / "empty.db").touch()
    with pytest.raises(Unavailable, match="no tables"):
        make_backup(str(tmp_path / "empty.db"), tmp_path / "x.backup", now=NOON)
