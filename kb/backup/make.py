"""A backup, from copy to sealed file. It has its name only once it was verified."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from sqlalchemy import text
from sqlmodel import Session

from kb.backup.contents import count_rows, verify, verify_file
from kb.backup.postgres_dump import dump_database
from kb.backup.sealed_file import Manifest, digest_file, is_sealed, read_manifest, seal, sync_folder
from kb.backup.sqlite_copy import copy_database, make_self_contained
from kb.database import find_sqlite_file, open_database, open_reader
from kb.errors import BadInput, KbError, Unavailable
from kb.migrate import HEAD, find_schema_version


def make_backup(url: str, target: Path, *, now: datetime, programs: Path | None = None) -> Manifest:
    """Copy the database at ``url`` into the file ``target``, while it goes on being used.

    Args:
        url: the database.
        target: the backup to make; an earlier backup there is replaced, but only by one that was verified.
        now: time written into the backup.
        programs: folder of PostgreSQL's programs, if not on the search path.

    Raises:
        BadInput: something that is no backup stands at ``target``, or its folder cannot be written.
        Unavailable: the database cannot be copied, or the copy does not hold what it must.
    """
    if target.is_dir() or (target.exists() and not is_sealed(target)):
        raise BadInput(f"'{target}' is there already and is no backup; choose another name.", field="file")
    with open_part_file(target) as part:
        source = find_sqlite_file(url)
        if source is not None:
            schema, rows = _copy_sqlite(source, part)
        else:
            schema, rows = _copy_postgres(url, part, programs)
        manifest = Manifest(
            database="sqlite" if source is not None else "postgresql",
            schema=schema,
            made_at_utc=now.isoformat(timespec="seconds"),
            copy_bytes=part.stat().st_size,
            copy_sha256=digest_file(part),
            rows=rows,
        )
        seal(part, manifest)
        read_manifest(part)
        os.replace(part, target)
        sync_folder(target.absolute().parent)
    return manifest


@contextmanager
def open_part_file(target: Path) -> Iterator[Path]:
    """An empty file beside ``target``, for this user only, gone when the block ends, however it ends."""
    folder = target.absolute().parent
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=folder)
    except OSError as error:
        raise BadInput(
            f"Nothing can be written in '{folder}': {error.strerror}; make the folder or name another.",
            field="file",
        ) from error
    os.close(handle)
    part = Path(name)
    try:
        yield part
    except KbError:
        raise
    except OSError as error:
        raise Unavailable(f"'{target}' was not written: {error.strerror or error}.") from error
    finally:
        for ending in ("", "-wal", "-shm", "-journal"):
            part.with_name(part.name + ending).unlink(missing_ok=True)


def _copy_sqlite(source: Path, part: Path) -> tuple[str, dict[str, int]]:
    copy_database(source, part)
    described = describe_sqlite(part, f"The copy of '{source}'")
    make_self_contained(part)
    return described


def describe_sqlite(path: Path, what: str) -> tuple[str, dict[str, int]]:
    """Schema version and rows of a file that passes every check; of an older schema, those of the file."""
    engine = open_database(str(path))
    try:
        schema = find_schema_version(engine)
        if schema is None:
            raise Unavailable(f"{what} has no tables; load a catalogue with: counterhand import FOLDER.")
        with open_reader(engine) as session:
            if schema == HEAD:
                verify(session, what)
            else:
                verify_file(session, what)
            return schema, count_rows(session)
    finally:
        engine.dispose()


def _copy_postgres(url: str, part: Path, programs: Path | None) -> tuple[str, dict[str, int]]:
    engine = open_database(url)
    try:
        schema = find_schema_version(engine)
        if schema is None:
            raise Unavailable("The database has no tables; load a catalogue with: counterhand import FOLDER.")
        with Session(engine.execution_options(isolation_level="REPEATABLE READ")) as session:
            verify(session, "The database")
            rows = count_rows(session)
            snapshot = session.execute(text("SELECT pg_export_snapshot()")).scalar_one()
            dump_database(url, part, snapshot=str(snapshot), programs=programs)
        return schema, rows
    finally:
        engine.dispose()
