"""Sheets of suppliers, offers, counted stock and past demand."""

from importers.columns import Column, Currency, IsoDate, Money, Name, WholeNumber
from importers.sheets.sheet import MAKER_COLUMN, NOTE, PART_NUMBER_COLUMN, WORDS, Sheet
from kb.edits.demand import follow_demand_sheet, prepare_demand
from kb.edits.offers import prepare_offer_columns, prepare_offers, prepare_suppliers
from kb.edits.stock import book_count_sheet
from kb.edits.target import NameReference, PartReference, Target

PIECES = WholeNumber(0, 1_000_000)
SOME_PIECES = WholeNumber(1, 1_000_000)
LEAD_TIME_DAYS = WholeNumber(0, 3_650, "days")

LOCATION = NameReference(
    column="location", id_column="location_id", table="location", noun="Location", on_demand=True
)

SUPPLIERS = Sheet(
    kind="suppliers",
    columns=(
        Column("supplier", Name(), required=True),
        Column("name", WORDS),
        Column("currency", Currency()),
        Column("minimum_order", Money()),
        Column("lead_time_days", LEAD_TIME_DAYS),
        Column("note", NOTE),
    ),
    target=Target(
        table="supplier",
        identity=("supplier",),
        probe="supplier",
        values=("name", "currency", "minimum_order_minor", "lead_time_days", "note"),
        prepare=prepare_suppliers,
    ),
)

OFFERS = Sheet(
    kind="offers",
    columns=(
        Column("supplier", Name(), required=True),
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        Column("supplier_sku", Name()),
        Column("price", Money()),
        Column("currency", Currency()),
        Column("pack_size", SOME_PIECES),
        Column("minimum_quantity", SOME_PIECES),
        Column("lead_time_days", LEAD_TIME_DAYS),
        Column("seen_on", IsoDate()),
    ),
    target=Target(
        table="offer",
        identity=("supplier_id", "part_id", "supplier_sku", "pack_size", "minimum_quantity", "seen_on"),
        probe="part_id",
        values=("price_minor", "currency", "lead_time_days"),
        names=(NameReference(column="supplier", id_column="supplier_id", table="supplier", noun="Supplier"),),
        parts=(PartReference(),),
        prepare=prepare_offers,
        prepare_columns=prepare_offer_columns,
    ),
)

STOCK = Sheet(
    kind="stock",
    columns=(
        Column("location", Name(), required=True),
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        Column("on_hand", PIECES, required=True),
        Column("counted_on", IsoDate()),
    ),
    target=Target(
        table="stock_count",
        identity=("location_id", "part_id", "counted_on"),
        probe="part_id",
        values=("on_hand",),
        names=(LOCATION,),
        parts=(PartReference(),),
        finish=book_count_sheet,
    ),
)

DEMAND = Sheet(
    kind="demand",
    columns=(
        Column("location", Name(), required=True),
        MAKER_COLUMN,
        PART_NUMBER_COLUMN,
        Column("date", IsoDate(), required=True, field="asked_on"),
        Column("quantity", PIECES, required=True),
    ),
    target=Target(
        table="demand",
        identity=("location_id", "part_id", "asked_on", "number_of_day"),
        probe="part_id",
        values=("quantity",),
        names=(LOCATION,),
        parts=(PartReference(),),
        prepare=prepare_demand,
        finish=follow_demand_sheet,
    ),
)
