"""Formulas, telling number formats and merged cells of a sheet of an ODS document.

Source: published: OpenDocument 1.2, part 1 (table and number formats; names from memory).
"""

import zipfile
from dataclasses import dataclass, field

from importers.cell_marks import MOST_MERGED, CellMarks, Merged
from importers.number_formats import NumberFormat
from importers.workbook_marks import Attributes, parse_markup

_NUMBERS = frozenset({"float", "currency", "percentage"})
_CELLS = frozenset({"table:table-cell", "table:covered-table-cell"})
MOST_REPEATED = 10_000  # further repetitions are those of empty cells to the end of the sheet


def read_ods_marks(archive: zipfile.ZipFile, sheet_name: str) -> CellMarks:
    """Formulas, telling formats and cells merged downwards of a sheet."""
    styles = _Styles()
    for member in ("styles.xml", "content.xml"):
        if member in archive.namelist():
            with archive.open(member) as source:
                parse_markup(source, styles.start, styles.end, on_text=styles.add_text)
    reader = _SheetMarks(sheet_name, styles)
    with archive.open("content.xml") as source:
        parse_markup(source, reader.start, reader.end)
    return reader.marks._replace(merged=reader.merged)


@dataclass(slots=True)
class _Styles:
    """Collects what the styles of cells say about numbers."""

    zeros: dict[str, str] = field(default_factory=dict)
    of_cells: dict[str, tuple[str, str]] = field(default_factory=dict)
    _open: str | None = None
    _digits: int = 0
    _marks: dict[int, str] = field(default_factory=dict)
    _position: int | None = None

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "number:number-style":
            self._open, self._digits, self._marks = attributes.get("style:name"), 0, {}
        elif self._open is not None and name == "number:number":
            is_whole = attributes.get("number:decimal-places", "0") == "0"
            self._digits = int(attributes.get("number:min-integer-digits", "0")) if is_whole else 0
        elif self._open is not None and name == "number:embedded-text":
            self._position = int(attributes.get("number:position", "0"))
        elif name == "style:style" and attributes.get("style:family") == "table-cell":
            said = attributes.get("style:data-style-name", ""), attributes.get("style:parent-style-name", "")
            self.of_cells[attributes.get("style:name", "")] = said

    def end(self, name: str) -> None:
        if name == "number:embedded-text":
            self._position = None
        elif name == "number:number-style":
            if self._open is not None and 1 < self._digits <= 40:
                self.zeros[self._open] = self._build_zeros()
            self._open = None

    def add_text(self, text: str) -> None:
        if self._position is not None:
            self._marks[self._position] = self._marks.get(self._position, "") + text

    def _build_zeros(self) -> str:
        """Zeros with the marks that stand before so many last digits."""
        places = range(self._digits, 0, -1)
        return "".join(self._marks.get(place, "") * (place < self._digits) + "0" for place in places)

    def find_zeros(self, style: str) -> str:
        """Zeros and marks of a style of cells, or of the one that it goes back to."""
        for _step in range(20):
            data_style, parent = self.of_cells.get(style, ("", ""))
            if data_style:
                return self.zeros.get(data_style, "")
            if not parent:
                return ""
            style = parent
        return ""


class _SheetMarks:
    """Follows the rows of one sheet; repeated rows and cells count as often as they say."""

    def __init__(self, sheet_name: str, styles: _Styles) -> None:
        self.marks = CellMarks({}, {})
        self.merged: list[Merged] = []
        self._sheet_name = sheet_name
        self._styles = styles
        self._formats: dict[tuple[str, str], NumberFormat] = {}
        self._is_inside = False
        self._row = self._column = 0
        self._rows = 1
        self._column_styles: list[tuple[int, str]] = []

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "table:table":
            self._is_inside = attributes.get("table:name") == self._sheet_name
        elif not self._is_inside:
            return
        elif name in _CELLS:
            self._add_cell(attributes)
        elif name == "table:table-row":
            self._rows = int(attributes.get("table:number-rows-repeated", "1"))
            self._column = 0
        elif name == "table:table-column":
            count = int(attributes.get("table:number-columns-repeated", "1"))
            end = (self._column_styles[-1][0] if self._column_styles else 0) + count
            self._column_styles.append((end, attributes.get("table:default-cell-style-name", "")))

    def end(self, name: str) -> None:
        if name == "table:table":
            self._is_inside = False
        elif self._is_inside and name == "table:table-row":
            self._row += self._rows

    def _add_cell(self, attributes: Attributes) -> None:
        first, count = self._column, int(attributes.get("table:number-columns-repeated", "1"))
        self._column += count
        spanned = int(attributes.get("table:number-rows-spanned", "1"))
        is_narrow = attributes.get("table:number-columns-spanned", "1") == "1"
        if spanned > 1 and is_narrow and len(self.merged) < MOST_MERGED:
            self.merged.append((first, self._row, self._row + spanned - 1))
        formula = attributes.get("table:formula")
        number_format = self._find_format(first, attributes)
        if (formula is None and number_format is None) or count * self._rows > MOST_REPEATED:
            return
        for column in range(first, first + count):
            for row in range(self._row, self._row + self._rows):
                if formula is not None:
                    self.marks.add_formula(column, row, _show_formula(formula))
                elif number_format is not None:
                    self.marks.add_format(column, row, number_format)

    def _find_format(self, column: int, attributes: Attributes) -> NumberFormat | None:
        if attributes.get("office:value-type") not in _NUMBERS:
            return None
        currency = attributes.get("office:currency", "").upper()
        style = attributes.get("table:style-name") or self._find_column_style(column)
        key = style, currency if len(currency) == 3 and currency.isascii() and currency.isalpha() else ""
        if key not in self._formats:
            zeros = "" if key[1] else self._styles.find_zeros(style)
            self._formats[key] = NumberFormat(zeros, key[1])
        found = self._formats[key]
        return found if found.zeros or found.currency else None

    def _find_column_style(self, column: int) -> str:
        return next((style for end, style in self._column_styles if column < end), "")


def _show_formula(formula: str) -> str:
    """A formula without the name of its language: ``of:=SUM([.A1:.A2])``."""
    return "=" + formula.partition("=")[2]
