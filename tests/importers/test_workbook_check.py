"""The look through a sheet's markup finds rows, columns and formulas however they are written."""

import zipfile

import pytest

from importers.workbook_check import RefusedWorkbook, check_workbook


@pytest.fixture
def check_sheet(tmp_path):
    """Look through a workbook with the given markup as its sheet."""

    def check(markup):
        path = tmp_path / "list.xlsx"
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(
                "xl/worksheets/sheet1.xml", f"<worksheet><sheetData>{markup}</sheetData></worksheet>"
            )
        return check_workbook(path)

    return check


@pytest.mark.parametrize(
    "row",
    [
        '<row r="20000"></row>',
        '<row spans="1:2" r="20000"></row>',
        '<x:row r="20000"></x:row>',
        '<row\nr="20000"></row>',
        '<row r="1"><c><is><t>row r="15000"</t></is></c></row><row r="20000"></row>',
    ],
)
def test_far_off_row_is_refused_however_it_is_written(check_sheet, row):
    with pytest.raises(RefusedWorkbook, match="cells in row 20000"):
        check_sheet('<row r="1"></row>' + row)


def test_row_numbers_in_texts_are_no_rows(check_sheet):
    markup = '<row r="1"><c r="A1"><is><t>arrow row r="20000" of f x</t></is></c></row><row r="2"></row>'
    assert not check_sheet(markup).has_formulas


def test_text_written_like_a_row_is_no_row(check_sheet):
    markup = '<row r="1"><c r="A1"><is><t>row r="20000"</t></is></c></row><row r="2"></row>'
    assert not check_sheet(markup).has_formulas


def test_far_off_row_behind_a_long_run_of_rows_is_refused(check_sheet):
    rows = "".join(f'<row r="{number}"></row>' for number in range(1, 30_000))
    check_sheet(rows)
    with pytest.raises(RefusedWorkbook, match="cells in row 40000, far below row 29999"):
        check_sheet(rows + '<row r="40000"></row>')


@pytest.mark.parametrize("cell", ['<c r="GS1">', '<c s="1" r="AAA7">', '<x:c r="HA2">'])
def test_far_off_column_is_refused_however_it_is_written(check_sheet, cell):
    with pytest.raises(RefusedWorkbook, match="at most 200 columns"):
        check_sheet(f'<row r="1">{cell}<v>1</v></c></row>')


@pytest.mark.parametrize("formula", ["<f>1+1</f>", "<x:f>1</x:f>", '<f t="shared" si="0"/>', "<f/>"])
def test_formula_is_seen_however_it_is_written(check_sheet, formula):
    assert check_sheet(f'<row r="1"><c r="A1">{formula}<v>2</v></c></row>').has_formulas
