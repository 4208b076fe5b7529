"""CSV files read strictly, row by row, with the line numbers that an editor shows (heading = line 1).

UTF-8 with or without a byte-order mark, and UTF-16 with one. Commas between cells, double quotes around cells
that hold commas, quotes or line ends. Nothing is guessed: a file of another kind is refused with what it is.
"""

import codecs
import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Self

from kb.edits.problem import shorten
from kb.errors import BadInput

WORKBOOK_START = b"PK\x03\x04"
OLD_WORKBOOK_START = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class Limits:
    """Sizes above which a file is refused."""

    file_bytes: int = 500_000_000
    rows: int = 5_000_000
    columns: int = 200
    cell_characters: int = 32_767


class UnreadableFile(BadInput):
    """A file that cannot be read on, with the line where reading stopped."""

    def __init__(self, message: str, *, line: int) -> None:
        super().__init__(message)
        self.line = line


class CsvFile:
    """An open CSV file: its heading at once, its rows one by one.

    Raises:
        UnreadableFile: not CSV, not UTF-8, no heading, wrong separator, or above a limit.
    """

    def __init__(self, path: Path, limits: Limits) -> None:
        self._path = path
        self._limits = limits
        try:
            self._bytes: BinaryIO = path.open("rb")
        except OSError as error:
            raise UnreadableFile(f"The file cannot be opened: {error.strerror}.", line=1) from error
        try:
            encoding = self._find_encoding()
            # newline="" leaves line ends to the CSV reader, as its documentation asks.
            self._text = io.TextIOWrapper(self._bytes, encoding=encoding, errors="strict", newline="")
            self._reader = csv.reader(self._text, strict=True)
            self._line_before = 0
            self.heading = self._read_heading()
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

    def _find_encoding(self) -> str:
        size = self._path.stat().st_size
        if size > self._limits.file_bytes:
            raise UnreadableFile(
                f"The file has {size} bytes; at most {self._limits.file_bytes} are read; split it.", line=1
            )
        start = self._bytes.read(4)
        self._bytes.seek(0)
        if start.startswith((WORKBOOK_START, OLD_WORKBOOK_START)):
            raise UnreadableFile(
                "The file is a workbook or an archive, not CSV; save it as CSV (UTF-8).", line=1
            )
        if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return "utf-16"
        return "utf-8-sig"

    def _read_heading(self) -> list[str]:
        record = self._read_record()
        if record is None:
            raise UnreadableFile("The file is empty; the first line must name the columns.", line=1)
        line, cells = record
        heading = [cell.strip() for cell in cells]
        if len(heading) > self._limits.columns:
            raise UnreadableFile(
                f"The heading has {len(heading)} columns; at most {self._limits.columns} are read.", line=line
            )
        if len(heading) == 1 and (";" in heading[0] or "\t" in heading[0]):
            found = "semicolons" if ";" in heading[0] else "tabs"
            raise UnreadableFile(
                f"The columns are separated by {found}; save the file with commas between the cells.",
                line=line,
            )
        return heading

    def read_rows(self) -> Iterator[tuple[int, list[str]]]:
        """Line number and cells of every row that is not blank; the line is the row's first one."""
        rows_left = self._limits.rows
        while (record := self._read_record()) is not None:
            if rows_left == 0:
                raise UnreadableFile(
                    f"The file has more than {self._limits.rows} rows; split it.", line=record[0]
                )
            rows_left -= 1
            yield record

    def _read_record(self) -> tuple[int, list[str]] | None:
        reader = self._reader
        while True:
            line = self._line_before + 1
            try:
                cells = next(reader)
            except StopIteration:
                return None
            except UnicodeDecodeError as error:
                raise self._explain_encoding() from error
            except csv.Error as error:
                raise UnreadableFile(explain_csv_error(str(error)), line=line) from error
            self._line_before = reader.line_num
            if cells:
                return line, cells

    def _explain_encoding(self) -> UnreadableFile:
        with self._path.open("rb") as lines:
            for number, line in enumerate(lines, start=1):
                try:
                    line.decode("utf-8")
                except UnicodeDecodeError as error:
                    shown = shorten(line[: error.start].decode("utf-8"))
                    return UnreadableFile(
                        f"The file is not UTF-8: byte 0x{line[error.start]:02X} after '{shown}'; "
                        "save it as CSV (UTF-8).",
                        line=number,
                    )
        return UnreadableFile(
            "The file is not UTF-16 as its first bytes say; save it as CSV (UTF-8).", line=1
        )


def explain_csv_error(text: str) -> str:
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
