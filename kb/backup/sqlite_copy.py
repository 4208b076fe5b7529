"""A consistent copy of a SQLite database in use, and the place of a database taken by another file.

Source: SQLite documentation, "Using the SQLite Online Backup API" (a copy in one step is one point in time,
and writers go on in a write-ahead log) and "How To Corrupt An SQLite Database File" (never copy the file of a
database in use; never part a database from its log).
"""

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from kb.errors import Conflict, Unavailable

_SIDE_FILES = ("-wal", "-shm", "-journal")


def copy_database(source: Path, target: Path) -> None:
    """Copy the database as it stands at one moment; ``target`` exists and is empty.

    Raises:
        Unavailable: the source is missing, damaged, or stays locked; or the disk is full.
    """
    if not source.exists():
        raise Unavailable(f"There is no database at '{source}'; name one with --db.")
    try:
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as original,
            closing(sqlite3.connect(target)) as copy,
        ):
            original.execute("PRAGMA busy_timeout=5000")
            original.backup(copy)
    except sqlite3.Error as error:
        raise Unavailable(f"The database '{source}' cannot be copied: {error}.") from error


def make_self_contained(path: Path) -> None:
    """Fold the write-ahead log into the file, so that the one file is the whole database."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    for ending in _SIDE_FILES:
        path.with_name(path.name + ending).unlink(missing_ok=True)
    sync_file(path)


def sync_file(path: Path) -> None:
    """Wait until the disk has a file."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def take_place(new: Path, live: Path, aside: Path) -> bool:
    """Put a file where the live database is, which is first set aside under another name.

    At every moment either the old or the new database stands at ``live``. Whether there was an old one.

    Raises:
        Conflict: another program has the live database open.
    """
    if not live.exists():
        os.replace(new, live)
        return False
    with closing(sqlite3.connect(live, isolation_level=None)) as lock:
        is_whole = _close_to_others(lock, live)
        _set_aside(live, aside)
        if not is_whole:
            for ending in _SIDE_FILES:
                beside = live.with_name(live.name + ending)
                if beside.exists():
                    shutil.copy2(beside, aside.with_name(aside.name + ending))
        for ending in _SIDE_FILES:  # a log left here would be played into the new file
            live.with_name(live.name + ending).unlink(missing_ok=True)
        os.replace(new, live)
    return True


def _close_to_others(lock: sqlite3.Connection, live: Path) -> bool:
    """Fold the log into the live file and keep everybody out; whether the file could be read at all."""
    lock.execute("PRAGMA busy_timeout=2000")
    try:
        # Leaving the write-ahead log needs the file alone, so that this also finds readers.
        mode = lock.execute("PRAGMA journal_mode=DELETE").fetchone()[0]
        lock.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        if "locked" not in str(error) and "busy" not in str(error):
            return False
        raise _explain_use(live) from error
    except sqlite3.DatabaseError:  # damaged: that may be why a backup is put back
        return False
    if mode != "delete":
        raise _explain_use(live)
    return True


def _explain_use(live: Path) -> Conflict:
    return Conflict(f"Database '{live}' is in use; stop the server and other commands first, then try again.")


def _set_aside(live: Path, aside: Path) -> None:
    """A second name for the live file; a copy where the disk knows no second names."""
    with suppress(OSError):
        os.link(live, aside)
        return
    shutil.copy2(live, aside)
    sync_file(aside)
