"""Rows of a CSV or TSV file as it comes, titles and all, with the line numbers that an editor shows."""

import csv
import io
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import BinaryIO, Self

from importers.files import Limits, UnreadableFile, explain_csv_error
from importers.table_form import SAMPLE_LINES, TableForm, find_delimiter, find_encoding

NOT_TEXT = (
    (b"PK\x03\x04", "a workbook or an archive"),
    (b"\xd0\xcf\x11\xe0", "an old or locked workbook (.xls)"),
    (b"%PDF", "a PDF"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"<!DOCTYPE", "a web page"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
)


class TextRows:
    """An open CSV or TSV file.

    Raises:
        UnreadableFile: not text, encoding or separator not shown and not named, or above a limit.
    """

    def __init__(self, path: Path, form: TableForm, limits: Limits) -> None:
        self._path = path
        self._limits = limits
        self._bytes: BinaryIO = _open(path, limits)
        try:
            self.encoding = form.encoding or find_encoding(path)
            # newline="" leaves line ends to the CSV reader, as its documentation asks.
            self._text = io.TextIOWrapper(self._bytes, encoding=self.encoding, errors="strict", newline="")
            self.delimiter = form.delimiter or self._find_delimiter()
            self._reader = csv.reader(self._text, delimiter=self.delimiter, strict=True)
        except BaseException:
            self._bytes.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._text.close()

    @property
    def bytes_read(self) -> int:
        """How far the file has been read."""
        return self._bytes.tell()

    def _find_delimiter(self) -> str:
        try:
            lines = [line for line in islice(self._text, SAMPLE_LINES) if line.strip()]
        except UnicodeError as error:
            raise self._explain_encoding(1) from error
        self._text.seek(0)
        if not lines:
            raise UnreadableFile("The file is empty; it must hold a heading and rows.", line=1)
        found = find_delimiter([line[: self._limits.cell_characters] for line in lines])
        if found is None:
            raise UnreadableFile(
                "The mark between the cells is not clear; name it: comma, semicolon, tab or bar.", line=1
            )
        return found

    def read_rows(self) -> Iterator[tuple[int, list[str]]]:
        """Line number and cells of every row that is not blank; the line is the row's first one.

        Raises:
            UnreadableFile: the file cannot be read on.
        """
        reader, line_before, rows_left = self._reader, 0, self._limits.rows
        while True:
            try:
                cells = next(reader)
            except StopIteration:
                return
            except UnicodeError as error:
                raise self._explain_encoding(line_before + 1) from error
            except csv.Error as error:
                raise UnreadableFile(explain_csv_error(str(error)), line=line_before + 1) from error
            line, line_before = line_before + 1, reader.line_num
            if not cells:
                continue
            if rows_left == 0:
                raise UnreadableFile(f"The file has more than {self._limits.rows} rows; split it.", line=line)
            rows_left -= 1
            if len(cells) > self._limits.columns:
                raise UnreadableFile(
                    f"The row has {len(cells)} cells; at most {self._limits.columns} are read; "
                    "delete empty columns, or check the mark between the cells.",
                    line=line,
                )
            yield line, cells

    def _explain_encoding(self, line: int) -> UnreadableFile:
        return UnreadableFile(
            f"The file is not {self.encoding}, as was said or as its first bytes say; name the right one.",
            line=line,
        )


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
    return file
