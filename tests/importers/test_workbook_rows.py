"""Rows of workbooks: how far they are read, blank ones, ones above the limits, numbers and dates as texts."""

from datetime import datetime

import openpyxl
import pytest

from importers.limits import Limits, UnreadableFile
from importers.workbook_rows import WorkbookRows

# A spreadsheet knows no time zones.
MIDNIGHT, AFTERNOON = datetime.fromisoformat("2026-03-01"), datetime.fromisoformat("2026-03-01 14:30")


@pytest.fixture
def write_workbook(tmp_path):
    def write(rows):
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        path = tmp_path / "list.xlsx"
        book.save(path)
        return path

    return write


def test_progress_is_told_while_rows_come(write_workbook):
    path = write_workbook([["maker", "price"], *(["Wren", number] for number in range(999))])
    with WorkbookRows(path, None, Limits()) as rows:
        shares = []
        for _group in rows.read_groups():
            shares.append(round(rows.bytes_read / path.stat().st_size, 2))
    assert shares == [0.5, 1.0]


def test_blank_rows_are_left_out_and_lines_are_counted_as_a_spreadsheet_shows_them(write_workbook):
    path = write_workbook([["maker"], [], ["Wren", None, 1.5], [], [], [None, 7]])
    with WorkbookRows(path, None, Limits()) as rows:
        assert list(rows.read_rows()) == [
            (1, ["maker", "", ""]),
            (3, ["Wren", "", "\u20601.5"]),
            (6, ["", "7", ""]),
        ]


def test_table_away_from_the_corner_keeps_its_lines(write_workbook):
    path = write_workbook([[], [], [None, "maker"], [None, "Wren"]])
    with WorkbookRows(path, None, Limits()) as rows:
        assert list(rows.read_rows()) == [(3, ["maker"]), (4, ["Wren"])]


def test_texts_numbers_truths_and_days_of_one_column_are_each_written_their_way(write_workbook):
    values = ["7", 7, 7.5, True, 1, 0, MIDNIGHT, AFTERNOON, "a\nb"]
    path = write_workbook([[value] for value in values])
    with WorkbookRows(path, None, Limits()) as rows:
        texts = [cells[0] for _line, cells in rows.read_rows()]
        assert rows.numbers == {0: 4}
    assert texts == ["7", "7", "\u20607.5", "1", "1", "0", "2026-03-01", "2026-03-01 14:30:00", "a\nb"]


@pytest.mark.parametrize(
    ("limits", "line", "message"),
    [(Limits(rows=3), 5, "more than 3 rows"), (Limits(columns=1), 3, "at most 1 are read")],
)
def test_sheet_above_a_limit_is_refused_with_its_line(write_workbook, limits, line, message):
    path = write_workbook([["a"], [], ["b", "x"], ["c"], ["d"]])
    with pytest.raises(UnreadableFile, match=message) as refusal, WorkbookRows(path, None, limits) as rows:
        list(rows.read_rows())
    assert refusal.value.line == line
