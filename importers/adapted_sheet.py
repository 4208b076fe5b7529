"""A kind of sheet adapted to a planned file: cells in the file's form, fixed values, what texts say."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from importers.columns import Column
from importers.described import find_described_part_type, read_described_sizes
from importers.local_cells import build_local_column
from importers.local_money import Price
from importers.plan import Plan
from importers.sheets.sheet import Columns, RowDeriver, Sheet
from kb.edits.listed_fits import note_contrary_fits
from kb.edits.listed_parts import Decisions, prepare_listed_parts
from kb.edits.notices import NoticeList
from kb.edits.offers import prepare_undated_offer_columns, prepare_undated_offers
from kb.edits.problem import Notice, shorten
from kb.edits.target import Target, Values
from kb.errors import BadInput


def adapt_sheet(plan: Plan, notices: NoticeList) -> Sheet:
    """The sheet of a plan, reading cells as the file writes them.

    Raises:
        BadInput: a value for all rows is not accepted.
    """
    mapping, sheet = plan.mapping, plan.sheet
    units = {match.column: match.unit for match in plan.matches if match.column}
    columns = tuple(build_local_column(column, plan.form, units.get(column.name)) for column in sheet.columns)
    constants = {
        c.value_name: _parse_value(c, mapping.values[c.name]) for c in columns if c.name in mapping.values
    }
    said = {name for name in plan.column_names if name} | mapping.values.keys()
    return replace(
        sheet,
        columns=columns,
        constants=constants,
        derive=(derive := _build_deriver(plan, said, notices)),
        derives_from=Price if derive is _split_prices else None,
        derive_columns=_split_price_columns if derive is _split_prices else None,
        target=_adapt_target(sheet, plan, said),
    )


def _parse_value(column: Column, text: str) -> object:
    try:
        return column.cell.parse(text.strip()) if text.strip() else None
    except BadInput as error:
        raise BadInput(
            f"The value for all rows of '{column.name}' is not accepted: {error}", field=column.name
        ) from error


def _adapt_target(sheet: Sheet, plan: Plan, said: set[str]) -> Target:
    """The target, leaving alone stored values of which the file says nothing."""
    value_names = {column.value_name for column in sheet.columns if column.name in said}
    spoken = value_names | {f"{name}_minor" for name in value_names} | {f"{name}_id" for name in value_names}
    target = replace(sheet.target, sparse=tuple(name for name in sheet.target.values if name not in spoken))
    if sheet.kind == "parts":
        decisions = Decisions(plan.mapping.duplicates, plan.mapping.decisions)
        return replace(target, prepare=partial(prepare_listed_parts, decisions=decisions))
    if sheet.kind == "offers" and "seen_on" not in said:
        return replace(target, prepare=prepare_undated_offers, prepare_columns=prepare_undated_offer_columns)
    if sheet.kind == "fits":
        return replace(target, prepare=note_contrary_fits)
    return target


def _build_deriver(plan: Plan, said: set[str], notices: NoticeList) -> RowDeriver | None:
    if plan.sheet.kind == "parts" and "description" in said and plan.mapping.read_sizes:
        return partial(_read_description, notices=notices)
    if {"price", "minimum_order"} & said:
        return _split_prices
    return None


def _split_prices(_line: int, values: Values) -> Iterator[tuple[str, str]]:
    """Amount and currency apart; a currency beside the amount must be that of its column."""
    for name in ("price", "minimum_order"):
        price = values.get(name)
        if not isinstance(price, Price):
            continue
        values[name] = price.amount
        if values["currency"] not in (None, price.currency):
            yield (
                "currency",
                f"The amount is in {price.currency}, the column says {values['currency']}; correct one.",
            )
        values["currency"] = price.currency


def _split_price_columns(columns: Columns) -> Columns | None:
    """The same for many rows with one currency for all; None when rows must be looked at one by one."""
    split = dict(columns)
    found = set(columns["currency"]) - {None}
    for name in ("price", "minimum_order"):
        prices = columns.get(name, ())
        if Price not in set(map(type, prices)):
            continue
        if set(map(type, prices)) != {Price}:
            return None
        found |= {price.currency for price in prices}
        split[name] = [price.amount for price in prices]
    if len(found) != 1:
        return None
    split["currency"] = list(found) * len(columns["currency"])
    return split


def _read_description(line: int, values: Values, notices: NoticeList) -> Iterator[tuple[str, str]]:
    """Part type and sizes from the description, into empty cells only; nothing is refused for it."""
    description = values["description"]
    if description is None:
        return iter(())
    if values["part_type"] is None:
        values["part_type"] = find_described_part_type(description)
        if values["part_type"] is None:
            return iter(())
        notices.add(_build_notice(line, "part_type", values["part_type"], description))
    text, sizes = read_described_sizes(description, values["part_type"])
    for name, value in sizes.items():
        if values[name] is None:
            values[name] = value
            notices.add(_build_notice(line, name, value, text))
        elif values[name] != value and name != "count":
            notices.add(
                Notice(
                    line,
                    "conflict",
                    name,
                    shorten(f"{values[name]}"),
                    f"The column says {values[name]}, the description '{shorten(text)}' says {value}; "
                    "the column was kept; measure or ask.",
                )
            )
    return iter(())


def _build_notice(line: int, column: str, value: object, text: str) -> Notice:
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    return Notice(line, "read_from_text", column, shown, f"Read from the description '{shorten(text)}'.")
