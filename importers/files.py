"""CSV files read strictly, row by row, with the line numbers that an editor shows (heading = line 1).

UTF-8 with or without a byte-order mark, and UTF-16 with one. Commas between cells, double quotes around cells
that hold commas, quotes or line ends. Nothing is guessed: a file of another kind is refused with what it is.
"""

import codecs
import sys
from collections.abc import Iterator
from pathlib import Path

from importers.csv_records import CsvRecords
from importers.limits import Limits, UnreadableFile
from importers.row_groups import RawRow
from kb.edits.problem import shorten


class CsvFile(CsvRecords):
    """An open CSV file: its heading at once, its rows one by one.

    Raises:
        UnreadableFile: not CSV, not UTF-8, no heading, wrong separator, or above a limit.
    """

    def __init__(self, path: Path, limits: Limits) -> None:
        super().__init__(path, limits)
        try:
            self._decode(self._find_encoding())
            # The heading is no row; a row wider than it is a problem of that row alone.
            self._records = self._read_records(",", most_rows=limits.rows + 1, most_cells=sys.maxsize)
            self.heading = self._read_heading()
        except BaseException:
            self._bytes.close()
            raise

    def _find_encoding(self) -> str:
        start = self._bytes.read(4)
        self._bytes.seek(0)
        is_utf16 = start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        return "utf-16" if is_utf16 else "utf-8-sig"

    def _read_heading(self) -> list[str]:
        record = next(self._records, None)
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

    def read_rows(self) -> Iterator[RawRow]:
        """Line number and cells of every row that is not blank; the line is the row's first one."""
        return self._records

    def _explain_encoding(self, line: int) -> UnreadableFile:
        with self._path.open("rb") as lines:
            for number, content in enumerate(lines, start=1):
                try:
                    content.decode("utf-8")
                except UnicodeDecodeError as error:
                    shown = shorten(content[: error.start].decode("utf-8"))
                    return UnreadableFile(
                        f"The file is not UTF-8: byte 0x{content[error.start]:02X} after '{shown}'; "
                        "save it as CSV (UTF-8).",
                        line=number,
                    )
        return UnreadableFile(
            "The file is not UTF-16 as its first bytes say; save it as CSV (UTF-8).", line=line
        )
