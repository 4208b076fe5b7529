"""Sheets into the database in one piece: all of them, or nothing and the list of problems.

Where the rows come from does not matter here: a folder of CSV files, one file, a workbook.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from typing import Protocol

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from importers.limits import Limits, UnreadableFile
from importers.report import FileReport, ImportReport
from importers.row_groups import RawRow, RowGroup, list_rows
from importers.rows import RowReader, check_heading
from importers.sheets.sheet import Sheet
from kb.edits.batches import BatchOrigin, change_report
from kb.edits.catalogue import SHOWN_PROBLEMS, CatalogueEdit, SheetEdit
from kb.edits.column_write import write_group
from kb.edits.named_changes import name_rows
from kb.edits.notices import NoticeList
from kb.edits.problem import Problem
from kb.edits.target import InputColumns, InputRow
from kb.errors import Conflict

MOST_ATTEMPTS = 4

Progress = Callable[[int, int, int], None]


class RowSource(Protocol):
    """An open file: its heading, its rows with their line numbers, how far it is read."""

    heading: list[str]

    @property
    def bytes_read(self) -> int:
        """Bytes read so far."""
        ...

    def read_groups(self) -> Iterator[RowGroup]:
        """Line numbers and cells of all rows, many at a time; raises UnreadableFile."""
        ...


@dataclass(frozen=True, slots=True)
class SheetInput:
    """One file to load.

    Args:
        sheet: what kind of sheet it is.
        file_name: its name for the report.
        size_bytes: its size, for the progress.
        open: opens it; called once more when good rows are kept.
        is_mapped: the heading was mapped already and is not checked again.
        prepare: done before the first row is written.
        notices: where what is worth knowing is noted.
    """

    sheet: Sheet
    file_name: str
    size_bytes: int
    open: Callable[[], AbstractContextManager[RowSource]]
    is_mapped: bool = False
    prepare: Callable[[CatalogueEdit], None] | None = None
    notices: NoticeList = field(default_factory=NoticeList)


@dataclass(frozen=True, slots=True)
class ImportOptions:
    """How sheets are loaded.

    Args:
        dry_run: count and check, write nothing.
        progress: called with bytes read, bytes in all and rows read.
        limits: sizes above which a file is refused.
        keeps_good_rows: write the good rows of a file and leave the refused ones out.
        shown_changes: how many added or changed rows of a file the report lists.
    """

    dry_run: bool = False
    progress: Progress | None = None
    limits: Limits = field(default_factory=Limits)
    keeps_good_rows: bool = False
    shown_changes: int = 0


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
    run = _Run(session, origin, options)
    report, sheets = run.attempt(inputs, refused)
    if not (options.keeps_good_rows and report.has_problems) or any(s.has_sheet_problem for s in sheets):
        return report
    return run.keep_good_rows(inputs, report, sheets)


@dataclass(slots=True)
class _Run:
    """One import, tried once, or several times when refused rows are left out."""

    session: Session
    origin: BatchOrigin
    options: ImportOptions
    left_out: dict[int, frozenset[int]] = field(default_factory=dict)

    def keep_good_rows(
        self, inputs: Sequence[SheetInput], refused: ImportReport, sheets: Sequence[SheetEdit]
    ) -> ImportReport:
        """Report of the good rows, with the problems of those left out; a row may pull others with it."""
        first = refused
        for _attempt in range(MOST_ATTEMPTS):
            for place, sheet in enumerate(sheets):
                self.left_out[place] = self.left_out.get(place, frozenset()) | sheet.refused_line_numbers
            report, sheets = self.attempt(inputs, ())
            first = ImportReport(None, first.dry_run, tuple(map(_add_refused, first.files, report.files)))
            if not report.has_problems:
                kept = ImportReport(report.batch, report.dry_run, first.files)
                if kept.batch is not None:
                    text = json.dumps(kept.as_json(), ensure_ascii=False)
                    change_report(self.session.connection(), kept.batch, text)
                return kept
            if any(sheet.has_sheet_problem for sheet in sheets):
                break
        return first

    def attempt(
        self, inputs: Sequence[SheetInput], refused: Sequence[FileReport]
    ) -> tuple[ImportReport, list[SheetEdit]]:
        """Load all; kept when nothing is wrong, else taken back."""
        # All that follows happens inside a savepoint: it is kept as a whole or not at all.
        savepoint = self.session.begin_nested()
        try:
            edit = CatalogueEdit(self.session.connection(), self.origin)
            sheets: list[SheetEdit] = []
            watch = _Watch(sum(file.size_bytes for file in inputs), self.options.progress)
            for place, file in enumerate(inputs):
                sheets.append(edit.open_sheet(file.sheet.target))
                self._load(file, sheets[-1], watch=watch, left_out=self.left_out.get(place, frozenset()))
            files = tuple(map(_build_file_report, inputs, sheets))
            report = ImportReport(edit.batch.name, self.options.dry_run, (*files, *refused))
            if self.options.dry_run or report.has_problems:
                savepoint.rollback()
                return ImportReport(None, self.options.dry_run, report.files), sheets
            edit.close(json.dumps(report.as_json(), ensure_ascii=False))
            savepoint.commit()
        except BaseException as error:
            if savepoint.is_active:
                savepoint.rollback()
            if isinstance(error, IntegrityError):
                raise Conflict(
                    "Somebody else wrote the same rows while they were loaded; nothing was written; "
                    "load again."
                ) from error
            raise
        return report, sheets

    def _load(
        self, file: SheetInput, sheet_edit: SheetEdit, *, watch: "_Watch", left_out: frozenset[int]
    ) -> None:
        file.notices.clear()
        sheet_edit.notices = file.notices
        sheet_edit.shown_changes = self.options.shown_changes
        if file.prepare is not None:
            file.prepare(sheet_edit.edit)
        try:
            with file.open() as source:
                if not file.is_mapped:
                    for problem in check_heading(source.heading, file.sheet):
                        sheet_edit.refuse_sheet(problem)
                reader = RowReader(source.heading, file.sheet, self.options.limits)
                for rows in _read_groups(source, reader, sheet_edit, left_out=left_out):
                    write_group(sheet_edit, rows)
                    watch.rows += len(rows if isinstance(rows, list) else rows.lines)
                    watch.show(source.bytes_read)
            sheet_edit.finish()
        except UnreadableFile as error:
            sheet_edit.refuse_sheet(Problem(error.line, None, None, str(error)))
        watch.end_file(file.size_bytes)


def _add_refused(first: FileReport, second: FileReport) -> FileReport:
    """What was written, with the problems of both attempts."""
    return replace(
        second,
        refused=first.refused + second.refused,
        problems=(*first.problems, *second.problems)[:SHOWN_PROBLEMS],
        problem_count=first.problem_count + second.problem_count,
        refused_lines={**first.refused_lines, **second.refused_lines},
    )


@dataclass(slots=True)
class _Watch:
    """Tells how many bytes of how many, and how many rows are read."""

    total_bytes: int
    progress: Progress | None
    finished_bytes: int = 0
    rows: int = 0

    def show(self, file_bytes: int) -> None:
        if self.progress is not None:
            done = min(self.finished_bytes + file_bytes, self.total_bytes)
            self.progress(done, self.total_bytes, self.rows)

    def end_file(self, size_bytes: int) -> None:
        self.finished_bytes += size_bytes
        self.show(0)


def _read_groups(
    source: RowSource, reader: RowReader, sheet_edit: SheetEdit, *, left_out: frozenset[int]
) -> Iterator[InputColumns | list[InputRow]]:
    for group in source.read_groups():
        kept = group if not left_out else [row for row in list_rows(group) if row[0] not in left_out]
        rows = reader.read_group(kept)
        yield _read_one_by_one(list_rows(kept), reader, sheet_edit) if rows is None else rows


def _read_one_by_one(group: list[RawRow], reader: RowReader, sheet_edit: SheetEdit) -> list[InputRow]:
    """Rows of a group in which something is wrong, without those that are refused."""
    rows = []
    for line, cells in group:
        row = reader.read(line, cells)
        if isinstance(row, InputRow):
            rows.append(row)
        else:
            for problem in row:
                sheet_edit.refuse(problem)
    return rows


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
        tuple(sorted(sheet_edit.notices.kept, key=lambda notice: notice.line)),
        dict(sheet_edit.notices.counts),
        name_rows(sheet_edit.edit.connection, sheet_edit.target, sheet_edit.changes),
        sheet_edit.refused_lines,
    )
