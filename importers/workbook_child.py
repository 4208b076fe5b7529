"""The reader of workbooks, run in a process of its own with a limit on memory.

It writes frames to standard output, each ``marshal`` behind its length, because ``marshal`` asks a stream for
every single number: ``("sheets", names)``, ``("height", rows)``,
``("rows", line numbers, columns)``, ``("numbers", cells that came as numbers by column)``,
``("refused", sentence)``, ``("end",)``. A column is one text, its cells joined by ``CELL_END``, or a list of
texts. Numbers are counted by column, because a number has lost its leading zeros; one with decimals carries
``NUMBER_MARK``, because its decimal sign is the point, whatever the texts of the sheet use.

The modules used here have no dataclasses: to import those takes a fifth of the start of this process.
"""

import gc
import marshal
import os
import sys
import zipfile
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime, time
from itertools import islice
from pathlib import Path
from typing import Any

from importers.cell_marks import MOST_MERGED, CellMarks, Merged
from importers.number_formats import NumberFormat
from importers.number_mark import NUMBER_MARK
from importers.workbook_check import RefusedWorkbook, WorkbookFacts, check_workbook
from importers.workbook_marks import read_sheet_marks

FIRST_ROWS = 500
ROWS_PER_FRAME = 10_000
CELL_END = "\0"
LENGTH_BYTES = 4
NICENESS = 10
MEMORY_BYTES = 1_500_000_000
_LARGEST_EXACT = 2**53
_PLAIN_MARSHAL = 2  # looks for no repeated objects: a cell is written sooner than looked up


def _stand_back() -> None:
    """Let others go first, and take no more memory than a price list needs."""
    gc.disable()  # looks for circles among cells, of which there are none: a quarter of the work on them
    if hasattr(os, "nice"):
        os.nice(NICENESS)  # look-ups are waited for
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


def _send(*frame: Any) -> None:
    written = marshal.dumps(frame, _PLAIN_MARSHAL)
    sys.stdout.buffer.write(len(written).to_bytes(LENGTH_BYTES, "big"))
    sys.stdout.buffer.write(written)


def format_cell(value: Any) -> str:
    """Text of a cell as a person reads it; whole numbers without decimals, dates as YYYY-MM-DD.

    Example:
        >>> format_cell(4006381333931.0), format_cell(12.5)[1:], format_cell(True)
        ('4006381333931', '12.5', '1')
    """
    if isinstance(value, str):
        return value
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(int(value))
    if isinstance(value, float):
        return _format_numbers({value})[value]
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    return str(value)  # dates, times and spans as Python writes them, which is ISO 8601


def _format_numbers(values: Collection[float]) -> dict[float, str]:
    """Text of each number; together, as a call for each of them would take as long again."""
    return {
        value: str(int(value))
        if value.is_integer() and -_LARGEST_EXACT < value < _LARGEST_EXACT
        else NUMBER_MARK + repr(value)
        for value in values
    }


def format_column(values: Sequence[Any]) -> tuple[Sequence[str], int]:
    """Texts of a column's cells, and how many of them came as numbers.

    Example:
        >>> format_column(["A-1", 7.0, "", 7.0])
        (['A-1', '7', '', '7'], 2)
    """
    kinds = set(map(type, values))
    if kinds == {str}:
        return values, 0
    # Values that are equal are written alike, also 1.0 and true.
    if kinds == {float}:
        texts, numbers = _format_numbers(set(values)), len(values)
    else:
        texts = {value: format_cell(value) for value in set(values)}
        numbers = list(map(type, values)).count(float)
    return list(map(texts.__getitem__, values)), numbers


def _list_merged(sheet: Any) -> list[Merged]:
    """Cells merged downwards, where the reader of workbooks knows them; in ODS it does not."""
    ranges = (sheet.merged_cell_ranges or ())[:MOST_MERGED]
    return [(left, top, bottom) for (top, left), (bottom, right) in ranges if left == right and bottom > top]


class _Columns:
    """Formats the rows of a sheet, column by column, with what is known of single cells."""

    def __init__(self, marks: CellMarks, first_column: int) -> None:
        self.numbers: Counter[int] = Counter()
        self._merged = [(column - first_column, first, last) for column, first, last in marks.merged]
        self._merged_texts: dict[tuple[int, int], str] = {}
        self._formulas = {place - first_column: cells for place, cells in marks.formulas.items()}
        self._formats = {place - first_column: cells for place, cells in marks.formats.items()}

    def send(self, first_row: int, rows: Sequence[Sequence[Any]]) -> None:
        columns = [
            self._format(place, values, first_row) for place, values in enumerate(zip(*rows, strict=True))
        ]
        if self._merged:
            self._fill_merged(columns, first_row, len(rows))
        lines: Sequence[int] = range(first_row + 1, first_row + 1 + len(rows))
        if columns and not all(columns[0]):
            kept = [place for place, cells in enumerate(zip(*columns, strict=True)) if any(cells)]
            if len(kept) < len(rows):
                lines = [lines[place] for place in kept]
                columns = [[texts[place] for place in kept] for texts in columns]
        if lines and columns:
            _send("rows", list(lines), [_join(texts) for texts in columns])

    def _fill_merged(self, columns: list[Sequence[str]], first_row: int, count: int) -> None:
        """Write the text of cells that are merged downwards into each of their rows."""
        for column, first, last in self._merged:
            if not (0 <= column < len(columns) and first < first_row + count and first_row <= last):
                continue
            texts = columns[column]
            if not isinstance(texts, list):
                texts = columns[column] = list(texts)
            if first >= first_row:
                self._merged_texts[column, first] = texts[first - first_row]
            for row in range(max(first, first_row), min(last + 1, first_row + count)):
                texts[row - first_row] = self._merged_texts.get((column, first), "")

    def _format(self, place: int, values: Sequence[Any], first_row: int) -> Sequence[str]:
        texts, numbers = format_column(values)
        self.numbers[place] += numbers
        if place in self._formulas or place in self._formats:
            texts = list(texts)
            formats = self._formats.get(place, {})
            for row in _list_marked(formats, first_row, len(values)):
                number_format, value = formats[row], values[row - first_row]
                if type(value) in (float, int):
                    texts[row - first_row] = self._write(place, number_format, value)
            formulas = self._formulas.get(place, {})
            for row in _list_marked(formulas, first_row, len(values)):
                texts[row - first_row] = formulas[row]
        return texts

    def _write(self, place: int, number_format: NumberFormat, value: float) -> str:
        if number_format.zeros:
            self.numbers[place] -= 1  # its leading zeros are not lost
        return number_format.write(value, format_cell(value))


def _list_marked(cells: dict[int, Any], first_row: int, count: int) -> list[int]:
    return [row for row in range(first_row, first_row + count) if row in cells] if cells else []


def _join(texts: Sequence[str]) -> str | list[str]:
    joined = CELL_END.join(texts)
    return joined if joined.count(CELL_END) == len(texts) - 1 else list(texts)


def _choose_sheet(workbook: Any, wanted: str) -> Any:
    """The sheet to read: the one that was named, or the only one that is shown and filled."""
    from python_calamine import SheetTypeEnum, SheetVisibleEnum  # noqa: PLC0415 - after the check

    sheets = [sheet for sheet in workbook.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    names = [sheet.name for sheet in sheets]
    filled = [sheet.name for sheet in sheets if sheet.visible == SheetVisibleEnum.Visible]
    if len(filled) > 1:
        filled = [name for name in filled if workbook.get_sheet_by_name(name).height]
    _send("sheets", filled or names)
    listed = ", ".join(f"'{name}'" for name in (filled or names))[:300]
    if wanted and wanted not in names:
        raise RefusedWorkbook(f"There is no sheet '{wanted[:60]}'; there are {listed}.")
    if not names:
        raise RefusedWorkbook("The workbook has no sheet with cells; choose another file.")
    if not wanted and len(filled) > 1:
        raise RefusedWorkbook(f"The workbook has several filled sheets: {listed}; name the one to read.")
    return workbook.get_sheet_by_name(wanted or (filled or names)[0])


def _read_marks(path: Path, sheet_name: str, facts: WorkbookFacts) -> CellMarks:
    if not (facts.has_formulas or facts.has_formats or facts.has_merged):
        return CellMarks({}, {})
    from importers.ods_marks import read_ods_marks  # noqa: PLC0415 - seldom needed

    with zipfile.ZipFile(path) as archive:
        return (read_ods_marks if facts.is_ods else read_sheet_marks)(archive, sheet_name)


def _send_sheet(path: Path, wanted: str, facts: WorkbookFacts) -> None:
    from python_calamine import CalamineWorkbook  # noqa: PLC0415 - after the check

    with CalamineWorkbook.from_path(path) as workbook:
        sheet = _choose_sheet(workbook, wanted)
        _first_row, first_column = sheet.start or (0, 0)
        marks = _read_marks(path, sheet.name, facts)
        columns = _Columns(marks._replace(merged=[*marks.merged, *_list_merged(sheet)]), first_column)
        _send("height", sheet.end[0] + 1 if sheet.end else 0)
        # Rows come from the first of the sheet on, cells from the first filled column.
        for row, group in _split(sheet.iter_rows()):
            columns.send(row, group)
        _send("numbers", dict(columns.numbers))


def _split(rows: Iterator[list[Any]]) -> Iterator[tuple[int, list[list[Any]]]]:
    """Groups of rows, each with the number of its first one; a small group first, to be looked at."""
    first_row, size = 0, FIRST_ROWS
    while group := list(islice(rows, size)):
        yield first_row, group
        first_row += len(group)
        size = ROWS_PER_FRAME


def main(arguments: list[str]) -> int:
    """Read a workbook and send it; 0 even when it is refused, since the sentence was sent."""
    path, wanted = Path(arguments[0]), arguments[1]
    _stand_back()
    try:
        _send_sheet(path, wanted, check_workbook(path))
    except RefusedWorkbook as refused:
        _send("refused", str(refused))
    except MemoryError:
        _send("refused", "The workbook needs more memory than a price list; save the sheet as CSV.")
    except Exception as error:  # whatever a damaged file makes the readers raise
        _send(
            "refused",
            f"The workbook cannot be read ({type(error).__name__}); save the sheet as CSV or .xlsx again.",
        )
    _send("end")
    sys.stdout.flush()
    return 0
