"""Rows of a CSV or TSV file as it comes, titles and all, with the line numbers that an editor shows."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from importers.csv_records import CsvRecords
from importers.limits import Limits, UnreadableFile
from importers.row_groups import RawRow
from importers.table_form import SAMPLE_LINES, TableForm, find_delimiter, find_encoding


class TextRows(CsvRecords):
    """An open CSV or TSV file.

    Raises:
        UnreadableFile: not text, encoding or separator not shown and not named, or above a limit.
    """

    def __init__(self, path: Path, form: TableForm, limits: Limits) -> None:
        super().__init__(path, limits)
        try:
            self.encoding = form.encoding or find_encoding(path)
            self._decode(self.encoding)
            self.delimiter = form.delimiter or self._find_delimiter()
        except BaseException:
            self._bytes.close()
            raise

    def _find_delimiter(self) -> str:
        assert self._text is not None
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

    def read_rows(self) -> Iterator[RawRow]:
        """Line number and cells of every row that is not blank; the line is the row's first one.

        Raises:
            UnreadableFile: the file cannot be read on.
        """
        limits = self._limits
        return self._read_records(self.delimiter, most_rows=limits.rows, most_cells=limits.columns)

    def _explain_encoding(self, line: int) -> UnreadableFile:
        return UnreadableFile(
            f"The file is not {self.encoding}, as was said or as its first bytes say; name the right one.",
            line=line,
        )
