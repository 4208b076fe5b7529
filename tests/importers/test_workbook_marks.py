"""Formulas and telling formats are found where they stand, however a sheet's markup is written."""

import io
import zipfile

import pytest

from importers.cell_marks import CellMarks
from importers.number_formats import NumberFormat, parse_number_format
from importers.plain_marks import find_plain_marks
from importers.workbook_marks import read_marks_thoroughly

ZEROS = NumberFormat(zeros="0000")
STYLES = {"3": ZEROS}
MEMBER = "xl/worksheets/sheet1.xml"
PLAIN = (
    '<row r="2"><c r="A2" s="3"><v>7</v></c><c r="AB2" s="31"><f>1&lt;2</f><v>1</v></c></row>'
    '<row r="5"><c r="B5" t="str"><f t="shared" si="0"/><v>2</v></c><c r="C5" s="3"/></row>'
)
MARKS = CellMarks({27: {1: "=1<2"}, 1: {4: "="}}, {0: {1: ZEROS}, 2: {4: ZEROS}})


def write(rows, space=""):
    return f"<{space}worksheet><{space}sheetData>{rows}</{space}sheetData></{space}worksheet>".encode()


def read_thoroughly(content):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(MEMBER, content)
    with zipfile.ZipFile(out) as archive:
        return read_marks_thoroughly(archive, MEMBER, STYLES)


@pytest.mark.parametrize("block", [1 << 18, 7, 60])
def test_plain_markup_is_read_either_way(monkeypatch, block):
    monkeypatch.setattr("importers.plain_marks.BLOCK_BYTES", block)
    assert find_plain_marks(io.BytesIO(write(PLAIN)), STYLES) == MARKS == read_thoroughly(write(PLAIN))


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="2"><c s="3" r="A2"><v>7</v></c></row>',
        '<row r="2"><c s="3"><v>7</v></c></row>',
        '<row/><row><c s="3"><v>7</v></c></row>',
        '<row r="2"><c\nr="A2" s="3"><v>7</v></c></row>',
        '<row r="2" s="3"><c r="A2" s="3"><v>7</v></c></row>',
        '<row r="1"><c r="A1" t="inlineStr"><is><t> s="3"</t></is></c></row>'
        '<row r="2"><c r="A2" s="3"/></row>',
    ],
)
def test_styles_written_in_another_way_are_left_to_the_thorough_way(rows):
    assert find_plain_marks(io.BytesIO(write(rows)), STYLES) is None
    assert read_thoroughly(write(rows)) == CellMarks({}, {0: {1: ZEROS}})


@pytest.mark.parametrize(
    ("rows", "space"),
    [
        ('<x:row r="2"><x:c r="A2"><x:f>1+1</x:f><x:v>2</x:v></x:c></x:row>', 'x:'),
        ('<row r="2"><c r="A2"><v>2</v><f>1+1</f></c></row>', ""),
        ('<row r="2"><c r="A2"><f>1<!-- one -->+1</f></c></row>', ""),
    ],
)  # fmt: skip
def test_formulas_written_in_another_way_are_left_to_the_thorough_way(rows, space):
    content = write(rows, space).replace(b"<x:worksheet", b'<x:worksheet xmlns:x="x"')
    assert find_plain_marks(io.BytesIO(content), {}) is None
    assert read_thoroughly(content) == CellMarks({0: {1: "=1+1"}}, {})


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ('#,##0.00\\ "€"', NumberFormat(currency="EUR")),
        ('"£"#,##0.00', NumberFormat(currency="GBP")),
        ("[$$-409]#,##0.00", NumberFormat(currency="USD")),
        ("[$$-C0C]#,##0.00", None),  # of another country
        ('"$"#,##0.00', None),
        ('0 "PCS"', None),
        ('0.00 "EUR"', NumberFormat(currency="EUR")),
        ("00000", NumberFormat(zeros="00000")),
        ("0", None),
        ("0.00", None),
        ("General", None),
        ("yyyy-mm-dd", None),
        ("", None),
    ],
)
def test_number_format_says_zeros_or_a_currency_and_nothing_doubtful(code, said):
    assert parse_number_format(code) == said
