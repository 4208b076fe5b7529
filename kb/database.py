"""The database connection: an engine from a URL, sessions for readers and for writers.

SQLite is the embedded default: write-ahead log, foreign keys on, a sync at every commit, writers by
``BEGIN IMMEDIATE``. PostgreSQL serves several branches. Nothing is opened at import.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError
from sqlalchemy.pool import QueuePool, StaticPool
from sqlmodel import Session, create_engine

from kb.errors import BadInput, Unavailable

BUSY_TIMEOUT_MS = 5000
SQLITE_PRAGMAS = (
    "foreign_keys=ON",
    f"busy_timeout={BUSY_TIMEOUT_MS}",
    "synchronous=FULL",
    "cache_size=-65536",
)


def open_database(url: str) -> Engine:
    """Engine for a database URL.

    Args:
        url: ``sqlite:///path`` or ``postgresql://user@host/name``; a plain path is a SQLite file.

    Raises:
        BadInput: the URL names no known kind of database.
    """
    if "://" not in url:
        return _open_sqlite(url)
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() == "sqlite":
            return _open_sqlite(parsed.database or ":memory:")
        if parsed.get_backend_name() == "postgresql":
            return create_engine(parsed.set(drivername="postgresql+psycopg"), pool_pre_ping=True)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise BadInput(_explain_url(url, error), field="db") from error
    raise BadInput(_explain_url(url, None), field="db")


def find_sqlite_file(url: str) -> Path | None:
    """The file that a database URL names; None for a database in memory and for PostgreSQL."""
    name = url
    if "://" in url:
        parsed = make_url(url)
        name = (parsed.database or ":memory:") if parsed.get_backend_name() == "sqlite" else ":memory:"
    return None if name == ":memory:" else Path(name)


def _explain_url(url: str, error: Exception | None) -> str:
    if isinstance(error, ModuleNotFoundError):
        return "PostgreSQL needs the driver; install it with: pip install 'counterhand[postgres]'."
    return f"Database '{url}' is not understood; write a file path, sqlite:///FILE or postgresql://HOST/NAME."


def _open_sqlite(path: str) -> Engine:
    if path == ":memory:":
        engine = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    else:
        file_uri = _build_sqlite_uri(Path(path))
        # Named, because the URL alone looks like a database in memory, which would get one connection per
        # thread: two requests that meet on one thread would then share a transaction.
        engine = create_engine(
            "sqlite://",
            poolclass=QueuePool,
            creator=lambda: _connect_sqlite(Path(path), file_uri),
        )
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _build_sqlite_uri(path: Path) -> str:
    uri = f"file:{quote(str(path.absolute()))}"
    if path.exists() and not os.access(path, os.W_OK):
        # A write-ahead log cannot be joined without write access; without one the file stands still.
        has_log = path.with_name(path.name + "-wal").exists()
        return uri + ("?mode=ro" if has_log else "?mode=ro&immutable=1")
    return uri


def _connect_sqlite(path: Path, file_uri: str) -> sqlite3.Connection:
    """A connection; a file that is not there yet is made for this user only."""
    if not path.exists():
        with suppress(OSError):  # what is wrong with the place, SQLite says better
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    return sqlite3.connect(file_uri, uri=True, check_same_thread=False)


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    try:
        _set_pragmas(connection)
    except UnicodeDecodeError as error:  # SQLite quotes the damaged bytes, and the driver stumbles over them
        raise sqlite3.DatabaseError("the file is damaged") from error


def _set_pragmas(connection: Any) -> None:
    connection.isolation_level = None  # BEGIN is sent by _begin_sqlite
    if connection.execute("PRAGMA query_only").fetchone() == (0,):
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if "readonly" not in str(error):
                raise
    for pragma in SQLITE_PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Any) -> None:
    is_writer = connection.get_execution_options().get("write")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writer else "BEGIN")


@contextmanager
def open_reader(engine: Engine) -> Iterator[Session]:
    """Session that only reads; what it saw stays the same until it is closed."""
    if engine.dialect.name == "sqlite":
        with _explained_errors(), Session(engine) as session:
            yield session
        return
    with _explained_errors(), Session(engine.execution_options(postgresql_readonly=True)) as session:
        yield session
        # A rollback would make the driver forget its prepared statements, and each question plan anew.
        session.commit()


@contextmanager
def open_writer(engine: Engine) -> Iterator[Session]:
    """Session that writes; commits when the block ends well, else leaves nothing behind."""
    with _explained_errors(), Session(engine.execution_options(write=True)) as session, session.begin():
        yield session


@contextmanager
def open_trial(engine: Engine) -> Iterator[Session]:
    """Session that may write, of which nothing stays: to see what a change would do.

    SQLite lets one writer in at a time, so there the trial works on a copy of its own, which SQLite makes as
    a temporary database without a name: others go on writing meanwhile, and even a killed process leaves no
    file behind. On PostgreSQL it is a transaction that is taken back; writers of the same rows wait for it.
    """
    with _explained_errors():
        if engine.dialect.name == "sqlite":
            with _copy_for_trial(engine) as copy, Session(copy) as session, session.begin():
                yield session
                session.rollback()
        else:
            with Session(engine) as session, session.begin():
                yield session
                session.rollback()


@contextmanager
def _copy_for_trial(engine: Engine) -> Iterator[Engine]:
    own = sqlite3.connect("", check_same_thread=False)  # no name: on disk, and gone when it is closed
    copy = create_engine("sqlite://", poolclass=StaticPool, creator=lambda: own)
    event.listen(copy, "connect", _prepare_trial)
    event.listen(copy, "begin", _begin_sqlite)
    try:
        with engine.connect() as reader:
            original: Any = reader.connection.driver_connection
            try:
                original.backup(own)
            except sqlite3.Error as error:
                raise Unavailable(
                    f"The database cannot be copied for a trial: {error}; try again."
                ) from error
        yield copy
    finally:
        copy.dispose()
        own.close()


def _prepare_trial(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # BEGIN is sent by _begin_sqlite
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA cache_size=-65536")


@contextmanager
def _explained_errors() -> Iterator[None]:
    try:
        yield
    except OperationalError as error:
        raise Unavailable(_explain_operational_error(error)) from error
    except DBAPIError as error:
        if type(error.orig) is sqlite3.DatabaseError:  # SQLite's own name for a file that it cannot read
            raise Unavailable(
                "The database file is damaged or not a Counterhand database; see: counterhand check, "
                "or put a backup in place with: counterhand restore FILE."
            ) from error
        raise


def _explain_operational_error(error: OperationalError) -> str:
    text = str(error.orig)
    if "locked" in text or "busy" in text:
        return "The database is busy with another write; try again in a moment."
    if "readonly" in text:
        return "The database is read-only; check the rights of the file and its folder."
    if "no such table" in text:
        return "The database has no tables yet; load a catalogue with: counterhand import FOLDER."
    if "disk is full" in text:
        return "The disk is full; free some space and try again."
    if "unable to open" in text:
        return "The database file cannot be opened; check its path and rights."
    return f"The database does not answer: {text.splitlines()[0] if text else 'no reason given'}."
