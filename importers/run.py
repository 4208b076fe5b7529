"""Sheets into the database in one piece: all of them, or nothing and the list of problems.

Where the rows come from does not matter here: a folder of CSV files, one file, a workbook.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Protocol

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from importers.files import Limits, UnreadableFile
from importers.report import FileReport, ImportReport
from importers.rows import RowReader, check_heading
from importers.sheets.sheet import Sheet
from kb.edits.batches import BatchOrigin
from kb.edits.catalogue import CatalogueEdit, SheetEdit
from kb.edits.problem import Problem
from kb.edits.target import InputRow
from kb.errors import Conflict

ROWS_PER_GROUP = 10_000

Progress = Callable[[int, int], None]


class RowSource(Protocol):
    """An open file: its heading, its rows with their line numbers, how far it is read."""

    heading: list[str]

    @property
    def bytes_read(self) -> int:
        """Bytes read so far."""
        ...

    def read_rows(self) -> Iterator[tuple[int, list[str]]]:
        """Line number and cells of every row; raises UnreadableFile."""
        ...


@dataclass(frozen=True, slots=True)
class SheetInput:
    """One file to load: what kind of sheet it is, its name for the report, its size, how to open it."""

    sheet: Sheet
    file_name: str
    size_bytes: int
    open: Callable[[], AbstractContextManager[RowSource]]


@dataclass(frozen=True, slots=True)
class ImportOptions:
    """How sheets are loaded.

    Args:
        dry_run: count and check, write nothing.
        progress: called with bytes read and bytes in all.
        limits: sizes above which a file is refused.
    """

    dry_run: bool = False
    progress: Progress | None = None
    limits: Limits = field(default_factory=Limits)


def run_import(
    session: Session,
    inputs: Sequence[SheetInput],
    *,
    origin: BatchOrigin,
    options: ImportOptions,
    refused: Sequence[FileReport] = (),
) -> ImportReport:
    """Report of sheets loaded in one piece; on any problem nothing is written.

    Args:
        session: a writer's session; the caller commits.
        inputs: files in an order in which what is referred to comes first.
        origin: what the batch is called after.
        options: dry run, progress, limits.
        refused: files that were refused before they were opened.

    Raises:
        Conflict: somebody else wrote the same rows at the same time; nothing was written.
    """
    # All that follows happens inside a savepoint: it is kept as a whole or not at all.
    savepoint = session.begin_nested()
    try:
        edit = CatalogueEdit(session.connection(), origin)
        watch = _Watch(sum(file.size_bytes for file in inputs), options.progress)
        files = [_load_sheet(edit, file, watch=watch, limits=options.limits) for file in inputs]
        report = ImportReport(edit.batch.name, options.dry_run, (*files, *refused))
        if options.dry_run or report.has_problems:
            savepoint.rollback()
            return ImportReport(None, options.dry_run, report.files)
        edit.close(json.dumps(report.as_json(), ensure_ascii=False))
        savepoint.commit()
    except BaseException as error:
        if savepoint.is_active:
            savepoint.rollback()
        if isinstance(error, IntegrityError):
            raise Conflict(
                "Somebody else wrote the same rows while they were loaded; nothing was written; load again."
            ) from error
        raise
    return report


@dataclass(slots=True)
class _Watch:
    """Tells how many bytes of how many are read."""

    total_bytes: int
    progress: Progress | None
    finished_bytes: int = 0

    def show(self, file_bytes: int) -> None:
        if self.progress is not None:
            self.progress(min(self.finished_bytes + file_bytes, self.total_bytes), self.total_bytes)

    def end_file(self, size_bytes: int) -> None:
        self.finished_bytes += size_bytes
        self.show(0)


def _load_sheet(edit: CatalogueEdit, file: SheetInput, *, watch: _Watch, limits: Limits) -> FileReport:
    sheet_edit = edit.open_sheet(file.sheet.target)
    try:
        with file.open() as source:
            for problem in check_heading(source.heading, file.sheet):
                sheet_edit.refuse_sheet(problem)
            reader = RowReader(source.heading, file.sheet, limits)
            for rows in _read_groups(source, reader, sheet_edit):
                sheet_edit.write(rows)
                watch.show(source.bytes_read)
        sheet_edit.finish()
    except UnreadableFile as error:
        sheet_edit.refuse_sheet(Problem(error.line, None, None, str(error)))
    watch.end_file(file.size_bytes)
    return _build_file_report(file, sheet_edit)


def _read_groups(source: RowSource, reader: RowReader, sheet_edit: SheetEdit) -> Iterator[list[InputRow]]:
    group: list[InputRow] = []
    for line, cells in source.read_rows():
        row = reader.read(line, cells)
        if isinstance(row, InputRow):
            group.append(row)
        else:
            for problem in row:
                sheet_edit.refuse(problem)
        if len(group) == ROWS_PER_GROUP:
            yield group
            group = []
    if group:
        yield group


def _build_file_report(file: SheetInput, sheet_edit: SheetEdit) -> FileReport:
    counts = sheet_edit.counts
    return FileReport(
        file.file_name,
        file.sheet.kind,
        counts.added,
        counts.changed,
        counts.unchanged,
        counts.refused,
        tuple(sorted(sheet_edit.problems, key=lambda problem: problem.line)),
        sheet_edit.problem_count,
    )
