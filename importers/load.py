"""The door for catalogue folders: all of it into the database, or nothing and the list of problems."""

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from sqlmodel import Session

from importers.files import CsvFile, Limits, UnreadableFile
from importers.report import FileReport, ImportReport
from importers.rows import RowReader, check_heading
from importers.sheets.catalogue import SHEETS
from importers.sheets.sheet import Sheet
from kb.edits.batches import BatchOrigin
from kb.edits.catalogue import CatalogueEdit, SheetEdit
from kb.edits.problem import Problem, shorten
from kb.edits.target import InputRow
from kb.errors import BadInput
from kb.rules.nearest import find_nearest

ROWS_PER_GROUP = 10_000
DIGEST_BLOCK_BYTES = 1 << 20

Progress = Callable[[int, int], None]


@dataclass(slots=True)
class _Watch:
    """Tells how many bytes of how many are read."""

    total_bytes: int
    progress: Progress | None
    done_bytes: int = 0
    file_bytes: int = 0

    def show(self, file_bytes: int) -> None:
        self.file_bytes = file_bytes
        if self.progress is not None:
            self.progress(self.done_bytes + file_bytes, self.total_bytes)

    def end_file(self, size: int) -> None:
        self.done_bytes += size
        self.show(0)


@dataclass(frozen=True, slots=True)
class LoadOptions:
    """How a folder is loaded.

    Args:
        dry_run: count and check, write nothing.
        progress: called with bytes read and bytes in all.
        limits: sizes above which a file is refused.
    """

    dry_run: bool = False
    progress: Progress | None = None
    limits: Limits = field(default_factory=Limits)


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
        progress: called with bytes read and bytes in all.

    Raises:
        BadInput: the folder does not exist or holds no CSV file.
    """
    options = LoadOptions(dry_run=dry_run, progress=progress)
    return load_folder(session, Path(folder), now=now, options=options)


def load_folder(session: Session, folder: Path, *, now: datetime, options: LoadOptions) -> ImportReport:
    """Like ``load_catalogue``, with limits."""
    paths = _list_csv_files(folder)
    sheets = [sheet for sheet in SHEETS if sheet.file_name in paths]
    used = [paths[sheet.file_name] for sheet in sheets]
    strangers = [_refuse_stranger(name) for name in sorted(paths.keys() - {s.file_name for s in SHEETS})]
    watch = _Watch(sum(path.stat().st_size for path in used), options.progress)
    origin = BatchOrigin("catalogue", folder.absolute().name, _build_digest(used), now.astimezone(UTC))
    # All that follows happens inside a savepoint: it is kept as a whole or not at all.
    savepoint = session.begin_nested()
    try:
        edit = CatalogueEdit(session.connection(), origin)
        files = [
            _load_file(edit, sheet, path, watch=watch, limits=options.limits)
            for sheet, path in zip(sheets, used, strict=True)
        ]
        report = ImportReport(None, options.dry_run, (*files, *strangers))
        if options.dry_run or report.has_problems:
            savepoint.rollback()
            return report
        report = ImportReport(edit.batch.name, options.dry_run, report.files)
        edit.batch.close(json.dumps(report.as_json(), ensure_ascii=False))
        savepoint.commit()
    except BaseException:
        if savepoint.is_active:
            savepoint.rollback()
        raise
    return report


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


def _build_digest(paths: list[Path]) -> str:
    digest = hashlib.sha256()
    for path in paths:
        digest.update(f"{path.name}\0{path.stat().st_size}\0".encode())
        with path.open("rb") as file:
            while block := file.read(DIGEST_BLOCK_BYTES):
                digest.update(block)
    return digest.hexdigest()


def _load_file(edit: CatalogueEdit, sheet: Sheet, path: Path, *, watch: _Watch, limits: Limits) -> FileReport:
    sheet_edit = edit.open_sheet(sheet.target)
    try:
        with CsvFile(path, limits) as file:
            for problem in check_heading(file.heading, sheet):
                sheet_edit.refuse_sheet(problem)
            reader = RowReader(file.heading, sheet, limits)
            for rows in _read_groups(file, reader, sheet_edit):
                sheet_edit.write(rows)
                watch.show(file.bytes_read)
        sheet_edit.finish()
    except UnreadableFile as error:
        sheet_edit.refuse_sheet(Problem(error.line, None, None, str(error)))
    watch.end_file(path.stat().st_size)
    return _build_file_report(sheet, sheet_edit)


def _read_groups(file: CsvFile, reader: RowReader, sheet_edit: SheetEdit) -> Iterator[list[InputRow]]:
    group: list[InputRow] = []
    for line, cells in file.read_rows():
        row = reader.read(line, cells)
        if isinstance(row, InputRow):
            group.append(row)
        else:
            for problem in row:
                sheet_edit.refuse(problem)
        if len(group) == ROWS_PER_GROUP:
            yield group
            group = []
    yield group


def _build_file_report(sheet: Sheet, sheet_edit: SheetEdit) -> FileReport:
    counts = sheet_edit.counts
    return FileReport(
        sheet.file_name,
        sheet.kind,
        counts.added,
        counts.changed,
        counts.unchanged,
        counts.refused,
        tuple(sorted(sheet_edit.problems, key=lambda problem: problem.line)),
        sheet_edit.problem_count,
    )
