"""A damaged database is reported in one line, never with a traceback; its stock is never shown as sound.

What is not promised: a byte changed inside a free text is not found in the live file, which SQLite keeps
without checksums. It is found in a backup, which has one.
"""

import random

import pytest

from api.cli import main

ENGINE, BELT = "plover-50-s", "669-18-30"


@pytest.fixture
def whole(demo_path, tmp_path):
    """The demo database as one file without a log."""
    from kb.backup.sqlite_copy import copy_database, make_self_contained

    (tmp_path / "whole.db").touch()
    copy_database(demo_path, tmp_path / "whole.db")
    make_self_contained(tmp_path / "whole.db")
    return (tmp_path / "whole.db").read_bytes()


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    captured = capsys.readouterr()
    return ended.value.code, captured.out, captured.err


def damage(whole, number):
    """One byte changed, every fourth of them in the first page; or cut off."""
    dice = random.Random(number)
    if number % 3 == 2:
        return whole[: dice.randrange(len(whole))]
    changed = bytearray(whole)
    changed[dice.randrange(len(whole) if number % 4 else 4096)] ^= dice.randrange(1, 256)
    return bytes(changed)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("number", range(12))
def test_damage_is_reported_or_harmless(whole, tmp_path, capsys, number):
    path = tmp_path / "damaged.db"
    path.write_bytes(damage(whole, number))
    code, _, err = run(capsys, "check", "--db", path)
    assert code in (0, 1)
    assert err.count("\n") <= 1
    backed_up, _, complaint = run(capsys, "backup", tmp_path / "x.backup", "--db", path)
    assert backed_up == code, "what does not pass the check is not backed up"
    assert complaint.count("\n") == (1 if code else 0)
    answered, _, complaint = run(capsys, "fit", ENGINE, BELT, "--db", path)
    assert answered in (0, 1, 4, 5, 6)
    assert complaint.count("\n") <= 1


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_damaged_table_names_are_reported(whole, tmp_path, capsys):
    path = tmp_path / "damaged.db"
    place = whole.index(b"CREATE TABLE engine")
    path.write_bytes(whole[:place] + b"\xd2\xb6" + whole[place + 2 :])
    code, _, err = run(capsys, "check", "--db", path)
    assert code == 1
    assert err.count("\n") == 1


def test_stock_that_was_changed_behind_the_ledger_is_reported(whole, tmp_path, capsys):
    import sqlite3
    from contextlib import closing

    path = tmp_path / "changed.db"
    path.write_bytes(whole)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE stock_level SET on_hand = on_hand + 1 WHERE id = 1")
    code, out, _ = run(capsys, "check", "--db", path)
    assert code == 1
    assert "FAIL on hand is the sum of the movements" in out
