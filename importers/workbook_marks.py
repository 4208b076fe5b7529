"""Cells of a workbook that need more than their value: computed ones, and numbers in a telling format.

The fast reader of workbooks gives values only. Where the look through a workbook found formulas or such
formats, its markup is gone through once more, cell by cell, for the places of these.
"""

import zipfile
from collections.abc import Callable, Mapping
from posixpath import join, normpath
from typing import IO
from xml.parsers import expat

from importers.cell_marks import CellMarks, count_letters
from importers.number_formats import NumberFormat, parse_number_format
from importers.plain_marks import find_plain_marks

BLOCK_BYTES = 1 << 18

Attributes = dict[str, str]


def drop_prefix(name: str) -> str:
    """A name of markup without what stands before its colon."""
    return name.rpartition(":")[2]


def parse_markup(
    source: IO[bytes],
    start: Callable[[str, Attributes], None],
    end: Callable[[str], None] | None = None,
    *,
    on_text: Callable[[str], None] | None = None,
) -> None:
    """Go through markup block by block; names come with their prefixes."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = on_text
    while block := source.read(BLOCK_BYTES):
        parser.Parse(block)
    parser.Parse(b"", True)  # noqa: FBT003 - takes no names


class _Styles:
    """Numbers of styles of cells whose number format is telling."""

    def __init__(self) -> None:
        self.telling: dict[str, NumberFormat] = {}
        self._codes: dict[str, NumberFormat] = {}
        self._place: int | None = None

    def start(self, name: str, attributes: Attributes) -> None:
        name = drop_prefix(name)
        if name == "numFmt":
            number_format = parse_number_format(attributes.get("formatCode", ""))
            if number_format is not None:
                self._codes[attributes.get("numFmtId", "")] = number_format
        elif name == "cellXfs":
            self._place = 0
        elif name == "xf" and self._place is not None:
            number_format = self._codes.get(attributes.get("numFmtId", ""))
            if number_format is not None:
                self.telling[str(self._place)] = number_format
            self._place += 1

    def end(self, name: str) -> None:
        if drop_prefix(name) == "cellXfs":
            self._place = None


def read_telling_styles(archive: zipfile.ZipFile) -> dict[str, NumberFormat]:
    """Styles of an XLSX workbook whose number format is telling, by the number that cells name them by."""
    styles = _Styles()
    if "xl/styles.xml" in archive.namelist():
        with archive.open("xl/styles.xml") as source:
            parse_markup(source, styles.start, styles.end)
    return styles.telling


def find_sheet_member(archive: zipfile.ZipFile, sheet_name: str) -> str | None:
    """Name of the archive's member that holds a sheet of an XLSX workbook."""
    sheets: dict[str, str] = {}
    targets: dict[str, str] = {}

    def note_sheet(name: str, attributes: Attributes) -> None:
        if drop_prefix(name) == "sheet":
            relation = next((text for key, text in attributes.items() if key.endswith(":id")), "")
            sheets.setdefault(attributes.get("name", ""), relation)

    def note_target(_name: str, attributes: Attributes) -> None:
        targets[attributes.get("Id", "")] = attributes.get("Target", "")

    for member, note in (("xl/workbook.xml", note_sheet), ("xl/_rels/workbook.xml.rels", note_target)):
        with archive.open(member) as source:
            parse_markup(source, note)
    target = targets.get(sheets.get(sheet_name, ""), "")
    member = target.lstrip("/") if target.startswith("/") else normpath(join("xl", target))
    return member if target and member in archive.namelist() else None


def read_sheet_marks(archive: zipfile.ZipFile, sheet_name: str) -> CellMarks:
    """Formulas and telling formats of a sheet of an XLSX workbook."""
    member = find_sheet_member(archive, sheet_name)
    if member is None:
        return CellMarks({}, {})
    styles = read_telling_styles(archive)
    with archive.open(member) as source:
        plain = find_plain_marks(source, styles)
    return read_marks_thoroughly(archive, member, styles) if plain is None else plain


def read_marks_thoroughly(
    archive: zipfile.ZipFile, member: str, styles: Mapping[str, NumberFormat]
) -> CellMarks:
    """Formulas and telling formats of a sheet, element by element, however they are written."""
    reader = _SheetMarks(styles)
    with archive.open(member) as source:
        parse_markup(source, reader.start, reader.end, on_text=reader.add_text)
    return reader.marks


class _SheetMarks:
    """Follows the markup of a sheet; a row or cell without a place is the next one."""

    def __init__(self, styles: Mapping[str, NumberFormat]) -> None:
        self.marks = CellMarks({}, {})
        self._styles = styles
        self._row = self._column = -1
        self._formula: list[str] | None = None

    def start(self, name: str, attributes: Attributes) -> None:
        name = drop_prefix(name)
        if name == "c":
            place = attributes.get("r")
            self._column = count_letters(place) if place else self._column + 1
            number_format = self._styles.get(attributes.get("s", ""))
            if number_format is not None:
                self.marks.add_format(self._column, self._row, number_format)
        elif name == "row":
            place = attributes.get("r")
            self._row = int(place) - 1 if place else self._row + 1
            self._column = -1
        elif name == "f":
            self._formula = []

    def end(self, name: str) -> None:
        if self._formula is not None and drop_prefix(name) == "f":
            self.marks.add_formula(self._column, self._row, "=" + "".join(self._formula))
            self._formula = None

    def add_text(self, text: str) -> None:
        if self._formula is not None:
            self._formula.append(text)
