"""A file of any kind opened as rows of text: CSV, TSV, XLSX, ODS."""

from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

from importers.limits import Limits, UnreadableFile
from importers.row_groups import RawRow, RowGroup
from importers.table_form import TableForm
from importers.text_rows import TextRows
from importers.workbook_rows import WorkbookRows

WORKBOOK_ENDINGS = (".xlsx", ".xlsm", ".ods")
TEXT_ENDINGS = (".csv", ".tsv", ".txt", ".tab")


class RawTable(Protocol):
    """An open file: its rows as they come, and how far it is read."""

    @property
    def bytes_read(self) -> int:
        """Bytes read so far."""
        ...

    def read_rows(self) -> Iterator[RawRow]:
        """Line number and cells of every row that is not blank; raises UnreadableFile."""
        ...

    def read_groups(self) -> Iterator[RowGroup]:
        """The same rows, many at a time; raises UnreadableFile."""
        ...


def open_table(path: Path, file_name: str, form: TableForm, limits: Limits) -> TextRows | WorkbookRows:
    """The rows of a file, opened as its name says.

    Args:
        path: where the file lies.
        file_name: its name as it was given, which says what it is.
        form: how it is written.
        limits: sizes above which it is refused.

    Raises:
        UnreadableFile: of a kind that is not read, or not what its name says.
    """
    ending = Path(file_name).suffix.lower()
    if ending in WORKBOOK_ENDINGS:
        return WorkbookRows(path, form.sheet, limits)
    if ending not in TEXT_ENDINGS:
        raise UnreadableFile(
            f"Files named '{ending[:20]}' are not read; save the sheet as .csv, .tsv, .xlsx or .ods.", line=1
        )
    return TextRows(path, form, limits)
