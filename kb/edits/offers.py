"""Supplier and offer sheets: amounts become minor units of the row's currency or the supplier's."""

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.longer_end import list_longer_ends, note_longer_ends
from kb.edits.money import LARGEST_MINOR, convert_to_minor
from kb.edits.problem import Notice, Problem
from kb.edits.stored_rows import Columns, find_stored, has_stored
from kb.edits.target import InputColumns, InputRow, build_getter
from kb.errors import BadInput
from kb.rules.currency import get_decimals
from kb.tables.columns import get_table

_OFFER_KEY = ("supplier_id", "part_id", "supplier_sku", "pack_size", "minimum_quantity")
_OFFER_TERMS = ("price_minor", "currency", "lead_time_days")


def prepare_suppliers(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with the smallest order in minor units."""
    note_longer_ends(sheet, rows, "lead_time_days")
    return [row for row in rows if _convert(sheet, row, "minimum_order", "supplier")]


def prepare_offers(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with the price in minor units; an empty currency is the supplier's."""
    currencies = _read_currencies(sheet)
    note_longer_ends(sheet, rows, "lead_time_days")
    for row in rows:
        if row.values["currency"] is None:
            row.values["currency"] = currencies[row.values["supplier_id"]]
    kept = [row for row in rows if _convert(sheet, row, "price", "offer and its supplier")]
    for row in kept:
        if row.values["price_minor"] == 0:
            row.values["price_minor"] = None
            sheet.note(_note_zero(row.line))
    return kept


def _note_zero(line: int) -> Notice:
    message = "Price '0' was read as no price, as lists print it for a price on request; ask the supplier."
    return Notice(line, "assumed", "price", "0", message)


def _read_currencies(sheet: SheetEdit) -> dict[int, str | None]:
    """Currency of each supplier."""
    suppliers = get_table("supplier").c
    stored = sheet.edit.connection.execute(select(suppliers.id, suppliers.currency))
    return {supplier.id: supplier.currency for supplier in stored}


def prepare_offer_columns(sheet: SheetEdit, group: InputColumns) -> InputColumns | None:
    """Offers with the price in minor units; None when a price cannot be kept as it stands."""
    columns = group.columns.copy()
    own = _read_currencies(sheet)
    currencies = [
        currency or own[supplier_id]
        for currency, supplier_id in zip(columns["currency"], columns["supplier_id"], strict=True)
    ]
    amounts: list[Decimal | None] = list(columns.pop("price"))
    factors = {currency: Decimal(10 ** get_decimals(currency)) for currency in set(currencies) if currency}
    try:
        exact = [
            None if amount is None else amount * factors[currency]
            for amount, currency in zip(amounts, currencies, strict=True)
        ]
    except KeyError:  # an amount without a currency
        return None
    minor = [None if amount is None else int(amount) for amount in exact]
    if minor != exact or max((amount for amount in minor if amount is not None), default=0) > LARGEST_MINOR:
        return None
    notices = list_longer_ends(group.lines, columns["lead_time_days"], "lead_time_days")
    if notices:
        columns["lead_time_days"] = [
            days if days is None else int(days) for days in columns["lead_time_days"]
        ]
    if 0 in minor:
        notices += [_note_zero(line) for line, amount in zip(group.lines, minor, strict=True) if amount == 0]
        minor = [amount or None for amount in minor]
    return InputColumns(group.lines, columns | {"currency": currencies, "price_minor": minor}, notices)


def prepare_undated_offer_columns(sheet: SheetEdit, group: InputColumns) -> InputColumns | None:
    """Offers of a list without dates: as ``prepare_undated_offers`` has them."""
    prepared = prepare_offer_columns(sheet, group)
    if prepared is None:
        return None
    columns = prepared.columns
    days: list[date | None] = [sheet.edit.batch.origin.made_at_utc.date()] * len(group.lines)
    if has_stored(sheet, columns):
        terms = list(zip(*(columns[name] for name in _OFFER_TERMS), strict=True))
        for place, (day, stored_terms) in _find_newest_offers(sheet, columns).items():
            if stored_terms == terms[place]:
                days[place] = day
    columns["seen_on"] = days
    return prepared


def _find_newest_offers(sheet: SheetEdit, columns: Columns) -> dict[int, tuple[date | None, Any]]:
    """Day and terms of the newest stored offer of the kind of each new one, by its place."""
    last_id = sheet.edit.batch.find_last_id_before(sheet.table)
    newest: dict[int, tuple[date | None, Any]] = {}
    take = ("id", "seen_on", *_OFFER_TERMS)
    for place, row_id, day, *terms in find_stored(
        sheet.edit.connection, sheet.table, columns, by=_OFFER_KEY, take=take
    ):
        if row_id <= last_id and _is_newer(day, newest.get(place)):
            newest[place] = (day, tuple(terms))
    return newest


def _is_newer(day: date | None, known: tuple[date | None, Any] | None) -> bool:
    """Whether an offer is newer than a known one; one without a day is older than any other."""
    return known is None or (day is not None and (known[0] is None or day > known[0]))


def prepare_undated_offers(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows of a list without dates: an offer as it was seen last keeps its day, any other is of today.

    So the same list again changes nothing, and a new price stands beside the earlier one.
    """
    rows = prepare_offers(sheet, rows)
    newest = _read_newest_offers(sheet, {row.values["part_id"] for row in rows})
    today = sheet.edit.batch.origin.made_at_utc.date()
    get_key, get_terms = build_getter(_OFFER_KEY), build_getter(_OFFER_TERMS)
    for row in rows:
        known = newest.get(get_key(row.values))
        is_same = known is not None and known[1] == get_terms(row.values)
        row.values["seen_on"] = known[0] if known is not None and is_same else today
    return rows


def _read_newest_offers(sheet: SheetEdit, part_ids: set[int]) -> dict[Any, tuple[date | None, Any]]:
    """Day and terms of the newest stored offer of each kind."""
    offers = sheet.table.c
    last_id = sheet.edit.batch.find_last_id_before(sheet.table)
    newest: dict[Any, tuple[date | None, Any]] = {}
    if last_id == 0:
        return newest
    columns = [offers[name] for name in (*_OFFER_KEY, "seen_on", *_OFFER_TERMS)]
    question = select(*columns).where(offers.part_id.in_(list(part_ids)), offers.id <= last_id)
    size = len(_OFFER_KEY)
    for row in sheet.edit.connection.execute(question):
        key, day, terms = tuple(row[:size]), row[size], tuple(row[size + 1 :])
        if _is_newer(day, newest.get(key)):
            newest[key] = (day, terms)
    return newest


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
