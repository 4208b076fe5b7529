"""``counterhand backup`` and ``restore`` from the shell, and what a kill leaves behind."""

import json
import os
import signal
import sqlite3
import stat
import sys
from contextlib import closing

import pytest


def count_parts(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT count(*) FROM part").fetchone()[0]


def test_backup_and_restore_from_the_shell(run, shop, tmp_path):
    made = run("backup", "monday.backup", "--db", shop, "--json")
    assert made.returncode == 0, made.stderr
    rows = json.loads(made.stdout)["rows"]
    assert rows["part"] == count_parts(shop) > 100
    restored = run("restore", "monday.backup", "--db", "new.db", "--json")
    assert restored.returncode == 0, restored.stderr
    assert json.loads(restored.stdout)["set_aside"] is None
    assert count_parts(tmp_path / "new.db") == rows["part"]
    assert run("check", "--db", "new.db").returncode == 0


def test_failure_is_one_line_and_status_1(run, shop, tmp_path):
    (tmp_path / "letter.txt").write_text("Dear customer")
    for arguments in (
        ("backup", "letter.txt", "--db", shop),
        ("backup", "x.backup", "--db", "none.db"),
        ("backup", "no/folder/x.backup", "--db", shop),
        ("restore", "letter.txt", "--db", shop),
        ("restore", "none.backup", "--db", shop),
    ):
        done = run(*arguments)
        assert (done.returncode, done.stderr.count("\n")) == (1, 1), arguments
        assert done.stdout == ""
    assert (tmp_path / "letter.txt").read_text() == "Dear customer"


@pytest.mark.skipif(os.name != "posix", reason="file modes as POSIX has them")
def test_database_and_data_folder_are_for_their_owner_whatever_the_mask(run, tmp_path):
    assert run("key", "add", "boss", "--role", "admin", umask=0).returncode == 0
    folder = tmp_path / "data" / "counterhand"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
    assert modes["counterhand.db"] == 0o600
    assert set(modes.values()) == {0o600}


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL")
def test_killed_backup_leaves_the_database_and_the_earlier_backup(run, start, shop, tmp_path):
    assert run("backup", "monday.backup", "--db", shop).returncode == 0
    before = (tmp_path / "monday.backup").read_bytes()
    process = start("backup", "monday.backup", "--db", shop)
    while process.poll() is None and not list(tmp_path.glob(".monday.backup.*.part")):
        pass
    process.send_signal(signal.SIGKILL)
    assert process.wait(10) == -signal.SIGKILL
    assert (tmp_path / "monday.backup").read_bytes() == before
    for part in tmp_path.glob(".monday.backup.*.part"):
        assert run("restore", part.name, "--db", shop).returncode == 1
    assert run("check", "--db", shop).returncode == 0
