"""A text file of cells, opened within its limits and read record by record with an editor's line numbers.

What the encoding and the mark between cells are is decided by whoever opens it.
"""

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Self

from importers.limits import Limits, UnreadableFile
from importers.row_groups import RawRow, RowGroup, split_rows

BLOCK_BYTES = 1 << 18
LONGEST_LINE_BYTES = 2_000_000
WORKBOOK_START = b"PK\x03\x04"
OLD_WORKBOOK_START = b"\xd0\xcf\x11\xe0"
NOT_TEXT = (
    (WORKBOOK_START, "a workbook or an archive"),
    (OLD_WORKBOOK_START, "an old or locked workbook (.xls)"),
    (b"%PDF", "a PDF"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"<!DOCTYPE", "a web page"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
)


class CsvRecords:
    """An open text file of cells.

    Raises:
        UnreadableFile: it cannot be opened, is no text, or is above a limit.
    """

    def __init__(self, path: Path, limits: Limits) -> None:
        self._path = path
        self._limits = limits
        self._bytes: BinaryIO = _open(path, limits)
        self._text: io.TextIOWrapper | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        (self._text or self._bytes).close()

    @property
    def bytes_read(self) -> int:
        """How far the file has been read."""
        return self._bytes.tell()

    def _decode(self, encoding: str) -> io.TextIOWrapper:
        # newline="" leaves line ends to the CSV reader, as its documentation asks.
        self._text = io.TextIOWrapper(self._bytes, encoding=encoding, errors="strict", newline="")
        return self._text

    def _explain_encoding(self, line: int) -> UnreadableFile:
        raise NotImplementedError

    def _read_records(self, delimiter: str, *, most_rows: int, most_cells: int) -> Iterator[RawRow]:
        """First line and cells of every record that is not blank; one generator, as each costs every row."""
        assert self._text is not None
        reader, line_before = csv.reader(self._text, delimiter=delimiter, strict=True), 0
        while True:
            try:
                cells = next(reader)
            except StopIteration:
                return
            except UnicodeError as error:
                raise self._explain_encoding(line_before + 1) from error
            except csv.Error as error:
                raise UnreadableFile(_explain_csv_error(str(error)), line=line_before + 1) from error
            line, line_before = line_before + 1, reader.line_num
            if not cells:
                continue
            if most_rows == 0 or len(cells) > most_cells:
                raise self._explain_size(len(cells), line)
            most_rows -= 1
            yield line, cells

    def _explain_size(self, cells: int, line: int) -> UnreadableFile:
        if cells > self._limits.columns:
            return UnreadableFile(
                f"The row has {cells} cells; at most {self._limits.columns} are read; "
                "delete empty columns, or check the mark between the cells.",
                line=line,
            )
        return UnreadableFile(f"The file has more than {self._limits.rows} rows; split it.", line=line)

    def read_rows(self) -> Iterator[RawRow]:
        """Line number and cells of every row that is not blank; the line is the row's first one."""
        raise NotImplementedError

    def read_groups(self) -> Iterator[RowGroup]:
        """The same rows, many at a time."""
        return split_rows(self.read_rows())


def _open(path: Path, limits: Limits) -> BinaryIO:
    try:
        size = path.stat().st_size
        file = path.open("rb")
    except OSError as error:
        raise UnreadableFile(
            f"The file cannot be opened: {error.strerror}; close it elsewhere and check its rights.", line=1
        ) from error
    start = file.read(16).lstrip()
    file.seek(0)
    for mark, what in NOT_TEXT:
        if start.startswith(mark):
            file.close()
            raise UnreadableFile(
                f"The file is {what}, not CSV; save the sheet as CSV (UTF-8) or XLSX.", line=1
            )
    if size > limits.file_bytes:
        file.close()
        raise UnreadableFile(
            f"The file has {size} bytes; at most {limits.file_bytes} are read; split it.", line=1
        )
    try:
        _check_lines(file)
    except UnreadableFile:
        file.close()
        raise
    return file


def _check_lines(file: BinaryIO) -> None:
    """Refuse a line so long that its cells would fill the memory before they could be counted."""
    line, open_bytes = 1, 0
    while block := file.read(BLOCK_BYTES):
        ends = block.count(b"\n") or block.count(b"\r")
        line, open_bytes = line + ends, 0 if ends else open_bytes + len(block)
        if open_bytes > LONGEST_LINE_BYTES:
            raise UnreadableFile(
                f"A line has more than {LONGEST_LINE_BYTES} bytes and no end; "
                "check that the file is a table, and save it as CSV again.",
                line=line,
            )
    file.seek(0)


def _explain_csv_error(text: str) -> str:
    """Sentence for an error of the CSV reader: what is wrong and what to do."""
    if "unexpected end of data" in text:
        return "A quotation mark is opened here and never closed; close it or remove it."
    if "field larger than field limit" in text:
        return (
            f"A cell has more than {csv.field_size_limit()} characters; "
            "a quotation mark may be missing, or shorten it."
        )
    if "expected after" in text:
        return "A quotation mark stands inside a quoted cell; write it twice, and end the cell with a comma."
    return f"The line is not CSV ({text}); check quotation marks and commas."
