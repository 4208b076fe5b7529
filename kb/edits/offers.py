"""Supplier and offer sheets: amounts become minor units of the row's currency or the supplier's."""

from decimal import Decimal

from sqlalchemy import select
from sqlmodel import SQLModel

from kb.edits.catalogue import SheetEdit
from kb.edits.money import convert_to_minor
from kb.edits.problem import Problem
from kb.edits.target import InputRow
from kb.errors import BadInput


def prepare_suppliers(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with the smallest order in minor units."""
    return [row for row in rows if _convert(sheet, row, "minimum_order", "supplier")]


def prepare_offers(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with the price in minor units; an empty currency is the supplier's."""
    suppliers = SQLModel.metadata.tables["supplier"].c
    stored = sheet.edit.connection.execute(select(suppliers.id, suppliers.currency))
    currencies = {supplier.id: supplier.currency for supplier in stored}
    for row in rows:
        if row.values["currency"] is None:
            row.values["currency"] = currencies[row.values["supplier_id"]]
    return [row for row in rows if _convert(sheet, row, "price", "offer and its supplier")]


def _convert(sheet: SheetEdit, row: InputRow, column: str, whose: str) -> bool:
    amount: Decimal | None = row.values.pop(column)
    currency: str | None = row.values["currency"]
    row.values[f"{column}_minor"] = None
    if amount is None:
        return True
    if currency is None:
        message = (
            f"Amount {amount} has no currency: the {whose} name none; fill in currency, for example EUR."
        )
        sheet.refuse(Problem(row.line, "currency", None, message))
        return False
    try:
        row.values[f"{column}_minor"] = convert_to_minor(amount, currency)
    except BadInput as error:
        sheet.refuse(Problem(row.line, column, str(amount), str(error)))
        return False
    return True
