"""Many plain cells read at once give what each gives alone; what is not plain is left to a closer look."""

from decimal import Decimal

import pytest

from importers.columns import Column, Currency, Money, Name, PartNumber
from importers.limits import Limits
from importers.local_cells import build_local_column
from importers.local_money import Price
from importers.number_mark import NUMBER_MARK
from importers.rows import RowReader
from importers.sheets.sheet import Sheet
from importers.table_form import TableForm
from kb.edits.target import Target

CODES = ["B-743", "7", "A_1 x", "x" * 62]
NOT_PLAIN_CODES = [
    "",
    " ",
    "-7",
    "7-",
    " 7",
    "7 ",
    "=1+1",
    "n/a",
    "B\n7",
    "Ä1",
    "1E+5",
    "x" * 63,
    "7\u00a0",
    "\t7",
]
AMOUNTS = {
    ",": ["12,5", "7", "999999,999", f"{NUMBER_MARK}12.25"],
    ".": ["12.5", "7", f"{NUMBER_MARK}12.25"],
    None: ["7", "12", f"{NUMBER_MARK}12.25"],
}
NOT_PLAIN_AMOUNTS = [
    "",
    " ",
    "12,5 €",
    "1.234,50",
    "-1",
    "1e5",
    "12,",
    ",5",
    "1234567",
    "1\n2",
    "\n",
    "x",
    "٣",
]


def build_cell(cell, decimal=None):
    return build_local_column(Column("value", cell), TableForm(decimal=decimal), None).cell


@pytest.mark.parametrize("kind", [Name(), PartNumber()])
def test_plain_codes_are_their_own_value(kind):
    cell = build_cell(kind)
    assert list(cell.read_many(CODES)) == CODES == [cell.parse(text) for text in CODES]


@pytest.mark.parametrize("text", NOT_PLAIN_CODES)
@pytest.mark.parametrize("place", [0, 2, 4])
def test_a_code_that_is_not_plain_is_left_to_a_closer_look(text, place):
    assert build_cell(PartNumber()).read_many([*CODES[:place], text, *CODES[place:]]) is None


@pytest.mark.parametrize("decimal", AMOUNTS)
def test_plain_amounts_read_at_once_are_those_read_alone(decimal):
    cell, texts = build_cell(Money(), decimal), AMOUNTS[decimal]
    assert cell.read_many(texts) == [cell.parse(text) for text in texts]
    assert cell.read_many(texts[-1:]) == [Decimal("12.25")]


@pytest.mark.parametrize("text", [*NOT_PLAIN_AMOUNTS, "12.345.678"])
@pytest.mark.parametrize("decimal", AMOUNTS)
@pytest.mark.parametrize("place", [0, 1, 3])
def test_an_amount_that_is_not_plain_is_left_to_a_closer_look(text, decimal, place):
    texts = AMOUNTS[decimal]
    assert build_cell(Money(), decimal).read_many([*texts[:place], text, *texts[place:]]) is None


def test_an_amount_with_its_currency_read_before_is_still_taken_apart():
    form = TableForm(decimal=",")
    columns = tuple(
        build_local_column(column, form, None)
        for column in (Column("price", Money()), Column("currency", Currency()))
    )

    def split(_line, values):
        if isinstance(values["price"], Price):
            values["price"], values["currency"] = values["price"].amount, values["price"].currency
        yield from ()

    target = Target(table="offer", identity=("price",), probe="price", values=())
    sheet = Sheet(kind="offers", columns=columns, target=target, derive=split, derives_from=Price)
    reader = RowReader(["price", "currency"], sheet, Limits())
    wanted = {"price": Decimal("12.5"), "currency": "EUR"}
    assert reader.read(2, ["12,5 €", ""]).values == wanted
    assert [row.values for row in reader.read_group([(3, ["12,5 €", ""])])] == [wanted]
