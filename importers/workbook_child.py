"""The reader of workbooks, run in a process of its own with a limit on memory: ``FILE SHEET``.

It writes frames of ``marshal`` to standard output: ``("sheets", names)``, ``("rows", first_row, rows)``,
``("numbers", cells that came as numbers by column)``, ``("refused", sentence)``, ``("end",)``. Cells are
texts. Numbers are counted by column, because a number has lost its leading zeros; one with decimals carries
``NUMBER_MARK``, because its decimal sign is the point, whatever the texts of the sheet use.
"""

import marshal
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, time
from pathlib import Path
from typing import Any

from importers.number_mark import NUMBER_MARK
from importers.workbook_check import RefusedWorkbook, WorkbookFacts, check_workbook

ROWS_PER_FRAME = 2_000
MEMORY_BYTES = 1_500_000_000
_LARGEST_EXACT = 2**53


def _limit_memory() -> None:
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


def _send(*frame: Any) -> None:
    marshal.dump(frame, sys.stdout.buffer)


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
        is_whole = value.is_integer() and abs(value) < _LARGEST_EXACT
        return str(int(value)) if is_whole else NUMBER_MARK + repr(value)
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    return str(value)  # dates, times and spans as Python writes them, which is ISO 8601


def _format_row(row: list[Any], numbers: Counter[int]) -> list[str]:
    cells = []
    for column, value in enumerate(row):
        if type(value) is str:
            cells.append(value)
        else:
            if type(value) is float:
                numbers[column] += 1
            cells.append(format_cell(value))
    return cells


def _read_with_calamine(path: Path, sheet_name: str) -> Iterator[tuple[int, list[Any]]]:
    from python_calamine import CalamineWorkbook  # noqa: PLC0415 - after the check

    with CalamineWorkbook.from_path(path) as workbook:
        sheet = workbook.get_sheet_by_name(sheet_name)
        first_row = (sheet.start or (0, 0))[0] + 1
        yield from enumerate(sheet.iter_rows(), first_row)


def _list_sheets(path: Path) -> tuple[list[str], list[str]]:
    """Names of all sheets of cells, and of those that are shown and filled."""
    from python_calamine import CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum  # noqa: PLC0415

    with CalamineWorkbook.from_path(path) as workbook:
        sheets = [sheet for sheet in workbook.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
        shown = [sheet.name for sheet in sheets if sheet.visible == SheetVisibleEnum.Visible]
        if len(shown) > 1:
            shown = [name for name in shown if workbook.get_sheet_by_name(name).height]
        return [sheet.name for sheet in sheets], shown


def _read_with_openpyxl(path: Path, sheet_name: str) -> Iterator[tuple[int, list[Any]]]:
    """Slow, but it knows formulas and number formats: needed where a sheet has either."""
    from openpyxl import load_workbook  # type: ignore[import-untyped] # noqa: PLC0415

    workbook = load_workbook(path, read_only=True, data_only=False)
    for number, row in enumerate(workbook[sheet_name].iter_rows(), 1):
        yield number, [_read_formatted(cell) for cell in row]
    workbook.close()


def _read_formatted(cell: Any) -> Any:
    value = cell.value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    number_format = (cell.number_format or "").split(";")[0].replace('"', "").replace("\\", "")
    if number_format.strip("0- ") == "" and number_format.count("0") > 1 and float(value).is_integer():
        return _fill_format(number_format, str(int(value)))
    return float(value)


def _fill_format(number_format: str, digits: str) -> str:
    """Digits put into a format of zeros and marks.

    Example:
        >>> _fill_format("000-000", "7123")
        '007-123'
    """
    places = number_format.count("0")
    left = list(digits.zfill(places))
    extra = "".join(left[: len(left) - places])
    left = left[len(left) - places :]
    return extra + "".join(left.pop(0) if mark == "0" else mark for mark in number_format)


def _choose_sheet(path: Path, wanted: str) -> str:
    names, filled = _list_sheets(path)
    _send("sheets", filled or names)
    listed = ", ".join(f"'{name}'" for name in (filled or names))[:300]
    if wanted and wanted not in names:
        raise RefusedWorkbook(f"There is no sheet '{wanted[:60]}'; there are {listed}.")
    if not names:
        raise RefusedWorkbook("The workbook has no sheet with cells; choose another file.")
    if not wanted and len(filled) > 1:
        raise RefusedWorkbook(f"The workbook has several filled sheets: {listed}; name the one to read.")
    return wanted or (filled or names)[0]


def _send_rows(path: Path, sheet_name: str, facts: WorkbookFacts) -> None:
    is_exact = facts.has_formulas or facts.has_zero_formats
    rows = (_read_with_openpyxl if is_exact else _read_with_calamine)(path, sheet_name)
    numbers: Counter[int] = Counter()
    frame: list[tuple[int, list[str]]] = []
    for number, row in rows:
        frame.append((number, _format_row(row, numbers)))
        if len(frame) == ROWS_PER_FRAME:
            _send("rows", frame)
            frame = []
    _send("rows", frame)
    _send("numbers", dict(numbers))


def main(arguments: list[str]) -> int:
    """Read a workbook and send it; 0 even when it is refused, since the sentence was sent."""
    path, wanted = Path(arguments[0]), arguments[1]
    _limit_memory()
    try:
        facts = check_workbook(path)
        _send_rows(path, _choose_sheet(path, wanted), facts)
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


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
