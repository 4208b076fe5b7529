"""CSV files read strictly: quoting and line ends as in RFC 4180, and files that spreadsheets spoil."""

import pytest

from importers.files import CsvFile
from importers.limits import Limits, UnreadableFile


def read(path, limits=None):
    with CsvFile(path, limits or Limits()) as file:
        return file.heading, list(file.read_rows())


def write(tmp_path, content):
    path = tmp_path / "sheet.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(
    "content",
    [
        b"a,b\n1,\xc3\xa4\n",
        b"\xef\xbb\xbfa,b\n1,\xc3\xa4\n",
        "a,b\n1,ä\n".encode("utf-16"),
        b"a,b\r\n1,\xc3\xa4\r\n",
        b"a,b\r1,\xc3\xa4\r",
        b"a,b\n1,\xc3\xa4",
        b'"a","b"\n"1","\xc3\xa4"\n',
        b"\n\na,b\n\n1,\xc3\xa4\n\n",
    ],
    ids=[
        "plain",
        "byte-order mark",
        "utf-16",
        "CR LF",
        "CR",
        "no last line end",
        "quoted",
        "blank lines",
    ],
)
def test_heading_and_rows_are_read(tmp_path, content):
    heading, rows = read(write(tmp_path, content))
    assert heading == ["a", "b"]
    assert [cells for _line, cells in rows] == [["1", "ä"]]


def test_lines_are_counted_as_an_editor_shows_them(tmp_path):
    content = 'a,b\n1,"two\nlines"\n\n2,x\n'
    assert read(write(tmp_path, content))[1] == [(2, ["1", "two\nlines"]), (5, ["2", "x"])]


def test_commas_and_doubled_quotes_stay_inside_quoted_cells(tmp_path):
    assert read(write(tmp_path, 'a,b\n"x, y","say ""go"""\n'))[1] == [(2, ["x, y", 'say "go"'])]


@pytest.mark.parametrize(
    ("content", "line", "message"),
    [
        (b"", 1, "is empty"),
        (b"\n\n", 1, "is empty"),
        (b"a,b\n1,2\n1,caf\xe9\n", 3, "byte 0xE9 after '1,caf'"),
        (b"PK\x03\x04rest", 1, "workbook"),
        (b"\xd0\xcf\x11\xe0rest", 1, "workbook"),
        (b"a;b\n1;2\n", 1, "semicolons"),
        (b"a\tb\n1\t2\n", 1, "tabs"),
        (b'a,b\n1,2\n3,"open\n5,6\n', 3, "never closed"),
        (b'a,b\n1,"x"y\n', 2, "write it twice"),
        (b"a,b\n1," + b"x" * 140_000 + b"\n", 2, "more than 131072 characters"),
    ],
)
def test_file_that_is_not_plain_csv_is_refused_with_its_line(tmp_path, content, line, message):
    with pytest.raises(UnreadableFile, match=message) as refusal:
        read(write(tmp_path, content))
    assert refusal.value.line == line


@pytest.mark.parametrize(
    ("limits", "message"),
    [
        (Limits(file_bytes=10), "at most 10 are read"),
        (Limits(rows=1), "more than 1 rows"),
        (Limits(columns=1), "at most 1 are read"),
    ],
)
def test_file_above_a_limit_is_refused(tmp_path, limits, message):
    with pytest.raises(UnreadableFile, match=message):
        read(write(tmp_path, "a,b\n1,2\n3,4\n"), limits)


def test_file_that_cannot_be_opened_is_refused(tmp_path):
    (tmp_path / "sheet.csv").mkdir()
    with pytest.raises(UnreadableFile, match="cannot be opened"):
        read(tmp_path / "sheet.csv")
