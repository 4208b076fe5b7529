"""The door for catalogue folders: all of it into the database, or nothing and the list of problems."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from sqlmodel import Session

from importers.files import CsvFile
from importers.limits import Limits
from importers.report import FileReport, ImportReport
from importers.run import ImportOptions, Progress, SheetInput, run_import
from importers.sheets.catalogue import SHEETS
from importers.sheets.sheet import Sheet
from kb.edits.batches import BatchOrigin
from kb.edits.problem import Problem, shorten
from kb.errors import BadInput
from kb.rules.nearest import find_nearest

DIGEST_BLOCK_BYTES = 1 << 20


def load_catalogue(
    session: Session,
    folder: Path,
    *,
    now: datetime,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> ImportReport:
    """Report of a catalogue folder loaded in one piece; on any problem nothing is written.

    Args:
        session: a writer's session; the caller commits.
        folder: CSV files named as in the documentation; other kinds of files are ignored.
        now: time of the import, with its time zone.
        dry_run: count and check, write nothing.
        progress: called with bytes read, bytes in all and rows read.

    Raises:
        BadInput: the folder does not exist or holds no CSV file.
        Conflict: somebody else wrote the same rows at the same time.
    """
    return load_folder(session, folder, now=now, options=ImportOptions(dry_run, progress))


def load_folder(session: Session, folder: Path, *, now: datetime, options: ImportOptions) -> ImportReport:
    """Like ``load_catalogue``, with limits of its own."""
    paths = _list_csv_files(folder)
    known = {sheet.file_name for sheet in SHEETS}
    used = [
        _open_later(sheet, paths[sheet.file_name], options.limits)
        for sheet in SHEETS
        if sheet.file_name in paths
    ]
    digest = build_digest([paths[file.file_name] for file in used])
    origin = BatchOrigin("catalogue", folder.absolute().name, digest, now.astimezone(UTC))
    strangers = [_refuse_stranger(name) for name in sorted(paths.keys() - known)]
    return run_import(session, used, origin=origin, options=options, refused=strangers)


def _open_later(sheet: Sheet, path: Path, limits: Limits) -> SheetInput:
    return SheetInput(sheet, path.name, path.stat().st_size, partial(CsvFile, path, limits))


def _list_csv_files(folder: Path) -> dict[str, Path]:
    if not folder.is_dir():
        raise BadInput(f"'{folder}' is not a folder; name a folder of CSV files.", field="path")
    paths = {path.name: path for path in sorted(folder.iterdir()) if path.suffix.lower() == ".csv"}
    if not paths:
        raise BadInput(f"Folder '{folder}' holds no CSV file; name a catalogue folder.", field="path")
    return paths


def _refuse_stranger(name: str) -> FileReport:
    nearest = find_nearest(name, [sheet.file_name for sheet in SHEETS], limit=1)
    meant = f"the nearest is '{nearest[0]}'" if nearest else "rename it or take it out of the folder"
    message = f"File '{shorten(name)}' is not one of a catalogue folder; {meant}."
    return FileReport(name, None, problems=(Problem(1, None, None, message),), problem_count=1)


def build_digest(paths: Sequence[Path]) -> str:
    """SHA-256 over names and contents of files."""
    digest = hashlib.sha256()
    for path in paths:
        if not path.is_file():
            continue  # refused with its reason when it is opened
        digest.update(f"{path.name}\0{path.stat().st_size}\0".encode())
        with path.open("rb") as file:
            while block := file.read(DIGEST_BLOCK_BYTES):
                digest.update(block)
    return digest.hexdigest()
