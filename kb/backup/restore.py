"""A sealed file back to a database: verified first, put in place in one step, the old one set aside."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import inspect

from kb.backup.contents import count_rows, verify
from kb.backup.make import describe_sqlite, open_part_file
from kb.backup.postgres_dump import load_dump
from kb.backup.sealed_file import Manifest, copy_out, read_manifest, sync_folder
from kb.backup.sqlite_copy import make_self_contained, take_place
from kb.database import find_sqlite_file, open_database, open_reader
from kb.edits.upgrade import upgrade_database
from kb.errors import BadInput, Conflict, Unavailable
from kb.migrate import HEAD, is_known_version


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put in place; ``set_aside`` is where the database before it lies now."""

    manifest: Manifest
    set_aside: Path | None
    schema: str


def restore_backup(url: str, backup: Path, *, now: datetime, programs: Path | None = None) -> Restored:
    """Put a backup in the place of the database at ``url``.

    Raises:
        BadInput: the file is no whole backup, is damaged, or is of the other kind of database.
        Conflict: the live database is in use, or (PostgreSQL) is not empty.
        Unavailable: the backup was made by a newer program, or cannot be written.
    """
    manifest = read_manifest(backup)
    live = find_sqlite_file(url)
    kind = "postgresql" if live is None else "sqlite"
    if manifest.database != kind:
        raise BadInput(
            f"Backup '{backup}' is of {manifest.database}, but --db names {kind}; name one of its kind.",
            field="db",
        )
    if not is_known_version(manifest.schema):
        raise Unavailable(
            f"Backup '{backup}' has schema '{manifest.schema}' but this program works with '{HEAD}'; "
            "use the program version that made it, or a newer one."
        )
    if live is None:
        return _restore_postgres(url, backup, manifest, programs=programs)
    return _restore_sqlite(live, backup, manifest, now=now)


def _restore_sqlite(live: Path, backup: Path, manifest: Manifest, *, now: datetime) -> Restored:
    with open_part_file(live) as part:
        copy_out(backup, manifest, part)
        schema, rows = describe_sqlite(part, f"Backup '{backup}'")
        _compare(backup, manifest, schema=schema, rows=rows)
        if schema != HEAD:
            engine = open_database(str(part))
            upgrade_database(engine)
            engine.dispose()
            describe_sqlite(part, f"Backup '{backup}' brought up to date")
        make_self_contained(part)
        aside = _name_aside(live, now)
        had_one = take_place(part, live, aside)
        sync_folder(live.absolute().parent)
    return Restored(manifest, aside if had_one else None, HEAD)


def _compare(backup: Path, manifest: Manifest, *, schema: str, rows: dict[str, int]) -> None:
    if schema != manifest.schema or rows != dict(manifest.rows):
        raise BadInput(f"Backup '{backup}' does not hold what its manifest says; use another.", field="file")


def _name_aside(live: Path, now: datetime) -> Path:
    stem = f"{live.stem}.before-restore-{now:%Y%m%dT%H%M%SZ}"
    aside, number = live.with_name(stem + live.suffix), 1
    while aside.exists():
        number += 1
        aside = live.with_name(f"{stem}-{number}{live.suffix}")
    return aside


def _restore_postgres(url: str, backup: Path, manifest: Manifest, *, programs: Path | None) -> Restored:
    engine = open_database(url)
    try:
        with engine.connect() as connection:
            if inspect(connection).get_table_names():
                raise Conflict(
                    "The database named by --db is not empty; make an empty one (createdb NAME), "
                    "restore into it, and serve that one."
                )
        with open_part_file(Path(backup.absolute().parent / "restore")) as part:
            copy_out(backup, manifest, part)
            load_dump(url, part, programs=programs)
        with open_reader(engine) as session:
            verify(session, f"Backup '{backup}'")
            rows = count_rows(session)
        _compare(backup, manifest, schema=manifest.schema, rows=rows)
        upgrade_database(engine)
    finally:
        engine.dispose()
    return Restored(manifest, None, HEAD)
