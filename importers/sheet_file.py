"""The door for single files: look at one, say what it would do, load it, hand back what was refused.

``inspect_file`` proposes a mapping, ``load_file`` loads by one; with ``dry_run`` nothing is written.
"""

import csv
import hashlib
import io
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import chain, islice
from pathlib import Path
from typing import Any

from sqlmodel import Session

from importers.adapted_sheet import adapt_sheet
from importers.limits import Limits, UnreadableFile
from importers.mapped_rows import MappedRows
from importers.mapping import Mapping
from importers.number_mark import NUMBER_MARK
from importers.plan import SAMPLED_ROWS, Plan, build_plan
from importers.report import FileReport, ImportReport
from importers.row_groups import RawRow, RowGroup, list_rows, split_rows
from importers.run import ImportOptions, SheetInput, run_import
from importers.table import RawTable, open_table
from importers.table_form import preview_encodings
from importers.workbook_rows import WorkbookRows
from kb.edits.batches import BatchOrigin
from kb.edits.catalogue import CatalogueEdit
from kb.edits.notices import NoticeList
from kb.edits.problem import Notice, Problem

LOOKED_AT_ROWS = SAMPLED_ROWS + 60
DIGEST_BLOCK_BYTES = 1 << 20
SHOWN_CHANGES = 200
SAYING_WHAT_IT_IS = frozenset({"part_type", "description"})
CODE_COLUMNS = frozenset({"part_number", "by_part_number", "gtin", "supplier_sku"})
_FORMULA_BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A file to look at or to load: where it lies, the name that it was given, what its columns mean."""

    path: Path
    name: str
    mapping: Mapping
    limits: Limits = field(default_factory=Limits)


class _Opened:
    """A planned file whose first rows were read; opened once more when it is read again."""

    def __init__(self, file: SheetFile, stack: ExitStack) -> None:
        self.file = file
        self._table = open_table(file.path, file.name, file.mapping.form, file.limits)
        stack.push(self._table)
        self.digest = build_file_digest(file.path)  # while the reader of a workbook begins
        groups = _split_first(self._table)
        first = next(groups, None)
        if not first:
            raise UnreadableFile("The file is empty; it must hold a heading and rows.", line=1)
        self.first_rows = list_rows(first)[:LOOKED_AT_ROWS]
        self.plan = build_plan(self.first_rows, file.mapping)
        self._groups: Iterator[RowGroup] | None = chain([first], groups)

    @property
    def numbers(self) -> dict[int, int]:
        """Cells that came as numbers, by place; known once a workbook was read to its end."""
        return self._table.numbers if isinstance(self._table, WorkbookRows) else {}

    @property
    def sheets(self) -> list[str]:
        """Sheets of a workbook."""
        return self._table.sheets if isinstance(self._table, WorkbookRows) else []

    def read_rows(self) -> Iterator[RawRow]:
        """All rows as they stand in the file; once only."""
        return chain.from_iterable(map(list_rows, self._take_groups()))

    def _take_groups(self) -> Iterator[RowGroup]:
        groups, self._groups = self._groups, None
        return groups or iter(())

    @contextmanager
    def open_rows(self, notices: NoticeList) -> Iterator[MappedRows]:
        """The rows below the heading."""
        if self._groups is not None:
            yield MappedRows(self.plan, self._table, self._take_groups(), notices)
            _note_numbers(self.plan, self.numbers, notices)
            return
        with open_table(self.file.path, self.file.name, self.file.mapping.form, self.file.limits) as table:
            yield MappedRows(self.plan, table, table.read_groups(), notices)
            _note_numbers(self.plan, self.numbers, notices)


def _split_first(table: RawTable) -> Iterator[RowGroup]:
    """Groups of an open file; the first one holds the rows that are looked at."""
    if isinstance(table, WorkbookRows):
        yield from table.read_groups()
        return
    rows = table.read_rows()
    first: RowGroup = list(islice(rows, LOOKED_AT_ROWS))
    if first:
        yield first
        yield from split_rows(rows)


def _note_numbers(plan: Plan, numbers: dict[int, int], notices: NoticeList) -> None:
    for place, name in enumerate(plan.column_names):
        if name in CODE_COLUMNS and numbers.get(place):
            message = (
                f"{numbers[place]} cells of '{plan.matches[place].heading}' came as numbers; leading zeros "
                "would be lost: check them, or format the column as text."
            )
            notices.add(Notice(plan.layout.first_line, "number_as_code", name, None, message))


def load_file(
    session: Session, file: SheetFile, *, now: datetime, options: ImportOptions | None = None
) -> ImportReport:
    """Report of one file loaded in one piece.

    Args:
        session: a writer's session; the caller commits.
        file: the file with what its columns mean.
        now: time of the import, with its time zone.
        options: dry run, progress, keeping good rows.

    Raises:
        BadInput: the mapping is not accepted.
        Conflict: somebody else wrote the same rows at the same time.
    """
    options = options or ImportOptions(limits=file.limits)
    with ExitStack() as stack:
        try:
            opened = _Opened(file, stack)
        except UnreadableFile as error:
            return _refuse(file, [Problem(error.line, None, None, str(error))], dry_run=options.dry_run)
        plan = opened.plan
        if plan.questions or plan.changes:
            return _refuse(file, [*plan.changes, *plan.questions], dry_run=options.dry_run)
        notices = NoticeList()
        sheet_input = SheetInput(
            adapt_sheet(plan, notices),
            file.name,
            file.path.stat().st_size,
            lambda: opened.open_rows(notices),
            is_mapped=True,
            prepare=_build_source_maker(plan.mapping),
            notices=notices,
        )
        origin = BatchOrigin(
            plan.mapping.kind,
            file.name,
            opened.digest,
            now.astimezone(UTC),
            plan.mapping.as_json(),
        )
        report = run_import(session, [sheet_input], origin=origin, options=options)
        return _note_emptiness(report, plan.layout.last_line)


def _note_emptiness(report: ImportReport, heading_line: int) -> ImportReport:
    """The report; a file without a row is told of, because it looks as if all went well."""
    [file] = report.files
    if file.problem_count or file.added or file.changed or file.unchanged:
        return report
    message = "Below the heading stands no row to import; check that this is the right file and sheet."
    notices = (*file.notices, Notice(heading_line, "heading", None, None, message))
    counts = {**file.notice_counts, "heading": 1}
    return replace(report, files=(replace(file, notices=notices, notice_counts=counts),))


def _refuse(file: SheetFile, problems: list[Problem], *, dry_run: bool) -> ImportReport:
    report = FileReport(
        file.name, file.mapping.kind, problems=tuple(problems[:100]), problem_count=len(problems)
    )
    return ImportReport(None, dry_run, (report,))


def _build_source_maker(mapping: Mapping) -> Callable[[CatalogueEdit], None] | None:
    source = mapping.values.get("source")
    if not source:
        return None
    return lambda edit: edit.add_names("source", [source], kind=mapping.source_kind)


def build_file_digest(path: Path) -> str:
    """SHA-256 of a file."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(DIGEST_BLOCK_BYTES):
            digest.update(block)
    return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class Inspection:
    """A look at a file: how it is written, what its headings may mean, what is to be decided."""

    file: str
    mapping: Mapping
    plan: Plan | None
    sheets: tuple[str, ...] = ()
    samples: tuple[RawRow, ...] = ()
    problems: tuple[Problem, ...] = ()
    encodings: dict[str, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The look in plain values."""
        matches = self.plan.matches if self.plan else ()
        return {
            "file": self.file,
            "kind": self.mapping.kind,
            "sheets": list(self.sheets),
            "encodings": self.encodings,
            "heading_line": self.plan.layout.first_line if self.plan else None,
            "decimal": self.plan.form.decimal if self.plan else None,
            "headings": [
                {
                    "heading": match.heading,
                    "column": match.column,
                    "certainty": str(match.certainty),
                    "unit": match.unit,
                    "alternatives": list(match.alternatives),
                    "samples": [_show(cells, place) for _line, cells in self.samples[:3]],
                }
                for place, match in enumerate(matches)
            ],
            "samples": [
                {"line": line, "cells": [_show(cells, i) for i in range(len(cells))]}
                for line, cells in self.samples
            ],
            "questions": [
                {"line": p.line, "column": p.column, "value": p.value, "message": p.message}
                for p in self.problems
            ],
        }


def _show(cells: list[str], place: int) -> str:
    return cells[place].lstrip(NUMBER_MARK)[:200] if place < len(cells) else ""


def inspect_file(file: SheetFile, *, sample_rows: int = 10) -> Inspection:
    """What a file holds and what its headings may mean; questions instead of guesses."""
    with ExitStack() as stack:
        try:
            opened = _Opened(file, stack)
        except UnreadableFile as error:
            problem = Problem(error.line, None, None, str(error))
            # Where the encoding is asked for, a person sees which one reads the words right.
            encodings = preview_encodings(file.path) if "encoding" in str(error) else {}
            return Inspection(file.name, file.mapping, None, problems=(problem,), encodings=encodings)
        plan = opened.plan
        rows = [row for row in opened.first_rows if row[0] > plan.layout.last_line][:sample_rows]
        problems = (*plan.changes, *plan.questions)
        return Inspection(file.name, plan.mapping, plan, tuple(opened.sheets), tuple(rows), problems)


def propose_kind(
    file: SheetFile, kinds: tuple[str, ...] = ("offers", "parts", "stock", "demand", "fits")
) -> str | None:
    """The kind of sheet whose columns the headings fill best; None when two fill as well or none does."""
    scores: dict[str, float] = {}
    for kind in kinds:
        plan = inspect_file(replace(file, mapping=replace(file.mapping, kind=kind))).plan
        if plan is None:
            return None
        missing = sum(1 for problem in plan.questions if problem.value == "")
        found = {match.column for match in plan.matches if match.column}
        if kind == "parts" and found.isdisjoint(SAYING_WHAT_IT_IS):
            missing += 1  # maker and part number stand in most lists
        scores[kind] = len(found) - 2 * missing
    ranked = sorted(scores.items(), key=lambda item: -item[1])
    return ranked[0][0] if ranked[0][1] > max(ranked[1][1], 0) else None


def format_refused(file: SheetFile, report: FileReport) -> str:
    """The refused rows of a file as CSV, as they stood there, each with its line and what is wrong.

    Mended there, they can be imported as they are: the two columns before them are left out.
    """
    wanted = report.refused_lines
    if not wanted:
        return ""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    with suppress(UnreadableFile), ExitStack() as stack:
        opened = _Opened(file, stack)
        writer.writerow(["line", "problem", *map(neutralise, opened.plan.layout.heading)])
        for line, cells in opened.read_rows():
            if line in wanted:
                writer.writerow([line, *map(neutralise, (wanted[line], *cells))])
    return text.getvalue()


def neutralise(text: str) -> str:
    """Text that no spreadsheet computes; the import takes the mark off again.

    Example:
        >>> neutralise("=1+1"), neutralise("-12.5"), neutralise("A-1")
        ("'=1+1", '-12.5', 'A-1')
    """
    text = text.lstrip(NUMBER_MARK)
    if text.startswith(_FORMULA_BEGINNINGS) and not text.removeprefix("-").replace(".", "", 1).isdecimal():
        return "'" + text
    return text
