"""Stock and reorder as JSON and CSV."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from api.answers.shape import Answer

if TYPE_CHECKING:  # the commands need the shapes only, and start quicker without the questions
    from kb.lookups.low_stock import JudgedGroup, LowStockAnswer
    from kb.lookups.order_draft import OrderProposal
    from kb.lookups.orders import Order
    from kb.lookups.stock import Movement, ShelfRow, StockAtPlace

# Columns of the CSV, in this order; new ones are added at the end.
LINE_COLUMNS = (
    "list",
    "maker",
    "part_number",
    "pooled_with",
    "unit",
    "on_hand",
    "committed",
    "available",
    "on_order",
    "position",
    "reorder_point",
    "level",
    "raw_need",
    "suggested_quantity",
    "supplier",
    "unit_price_minor",
    "currency",
    "days_of_cover",
    "expected_empty_on",
    "arrives_if_ordered_today",
    "chance_short",
    "rate_per_month",
    "share_borrowed",
    "demand_class",
    "certainty",
    "needs_person",
    "text",
    "reason",
    "supplier_why",
    "quicker",
)

ORDER_COLUMNS = (
    "supplier_sku",
    "maker",
    "part_number",
    "quantity",
    "unit_price_minor",
    "currency",
    "due_on",
    "received",
    "open",
)
_COSTS = ("supplier", "supplier_sku", "unit_price_minor", "currency", "supplier_why", "quicker")


class LowStockAnswerShape(Answer):
    """What to order and whom to ask; ``location`` null = all places as one shelf."""

    location: str | None
    as_of: str
    lines: list[dict[str, Any]]
    after: str | None = None


def shape_low_stock(answer: "LowStockAnswer", lines: "Sequence[JudgedGroup] | None" = None) -> dict[str, Any]:
    """The low-stock list as data, with all of its lines or with those of a page."""
    return {
        "location": answer.location,
        "as_of": answer.as_of.isoformat(),
        "judged": answer.judged,
        "untried": answer.untried,
        "lines": [shape_line(item) for item in (answer.lines if lines is None else lines)],
    }


def hide_line_costs(shaped: dict[str, Any]) -> dict[str, Any]:
    """The list without prices and suppliers, for those who may not see them."""
    return {**shaped, "lines": [hide_costs_of_line(line) for line in shaped["lines"]]}


def hide_costs_of_line(line: dict[str, Any]) -> dict[str, Any]:
    """A line without price and supplier."""
    return {**line, **dict.fromkeys(_COSTS)}


def shape_line(item: "JudgedGroup") -> dict[str, Any]:
    """A line with every figure behind it."""
    line = item.line
    stock, target, cover, order = line.stock, line.target, line.cover, line.order
    return {
        "list": str(line.listed_on) if line.listed_on else None,
        "maker": line.maker,
        "part_number": line.part_number,
        "pooled_with": [f"{maker} {number}" for maker, number in line.pooled_with],
        "unit": str(line.unit),
        "on_hand": stock.on_hand,
        "on_order": stock.on_order,
        "committed": stock.committed,
        "available": stock.available,
        "position": stock.position,
        "earliest_arrival": _iso(stock.earliest_arrival),
        "late_days": stock.late_days,
        "reorder_point": target.reorder_point,
        "level": target.level,
        "level_by_hand": target.is_manual,
        "raw_need": order.raw_need,
        "suggested_quantity": order.quantity,
        "needs_person": order.needs_person,
        "untried": line.is_untried,
        "days_of_cover": _round(cover.days_of_cover, 1),
        "daily_rate": _round(cover.daily_rate, 4),
        "expected_empty_on": _iso(cover.expected_empty_on),
        "lead_time_days": cover.lead_time_days,
        "arrives_if_ordered_today": _iso(cover.arrives_if_ordered_today),
        "chance_short": _round(cover.chance_short, 4),
        "service_asked": target.service.share,
        "service_kind": str(target.service.kind),
        "fill_rate_expected": _round(target.fill_rate, 4),
        "rate_per_month": _round(line.rate.rate_per_month if line.rate else None, 3),
        "own_months": _round(line.rate.own_months if line.rate else None, 1),
        "share_borrowed": _round(line.rate.share_borrowed if line.rate else None, 3),
        "demand_class": str(line.pattern.demand_class) if line.pattern else None,
        "supplier": order.supplier,
        "supplier_sku": item.offer.supplier_sku if item.offer else None,
        "supplier_why": item.supplier_why,
        "quicker": item.quicker,
        "pack_size": item.offer.offer.packing.pack if item.offer else None,
        "minimum_quantity": item.offer.offer.packing.minimum_quantity if item.offer else None,
        "unit_price_minor": order.unit_price_minor,
        "currency": item.offer.currency if item.offer else None,
        "warnings": [str(warning) for warning in line.warnings],
        "reasons": [{"code": str(reason.code), "text": reason.text} for reason in line.reasons],
        "reason": " ".join(reason.text for reason in line.reasons) or line.text,
        "text": line.text,
        "certainty": str(line.certainty),
    }


def shape_proposal(proposal: "OrderProposal") -> dict[str, Any]:
    """A proposed order as data."""
    supplier, answer, top_up = proposal.supplier, proposal.answer, proposal.top_up
    return {
        "supplier": supplier.supplier if supplier else None,
        "supplier_name": supplier.name if supplier else None,
        "currency": supplier.currency if supplier else None,
        "minimum_order_minor": supplier.minimum_order_minor if supplier else None,
        "smallest_order_minor": supplier.smallest_order_minor if supplier else None,
        "free_freight_from_minor": supplier.free_freight_from_minor if supplier else None,
        "decision": str(answer.decision) if answer else None,
        "order_value_minor": answer.order_value_minor if answer else None,
        "missing_value_minor": answer.missing_value_minor if answer else None,
        "pays_freight": answer.pays_freight if answer else None,
        "text": answer.text if answer else "Nobody offers these parts; find a supplier.",
        "lines": [shape_line(item) for item in proposal.lines],
        "top_up": None
        if top_up is None
        else {
            "service": top_up.service,
            "order_value_minor": top_up.order_value_minor,
            "lines": [
                {"maker": line.maker, "part_number": line.part_number, "quantity": line.quantity}
                for line in top_up.lines
            ],
        },
    }


def shape_order(order: "Order") -> dict[str, Any]:
    """A kept order as data."""
    return {
        "order": order.order_name,
        "supplier": order.supplier,
        "supplier_name": order.supplier_name,
        "location": order.location,
        "state": order.state,
        "made_on": order.made_on.isoformat(),
        "made_by": order.made_by,
        "sent_on": _iso(order.sent_on),
        "late_days": order.late_days,
        "value_minor": order.value_minor,
        "currency": order.currency,
        "note": order.note,
        "lines": [
            {
                "maker": line.maker,
                "part_number": line.part_number,
                "supplier_sku": line.supplier_sku,
                "quantity": line.quantity,
                "received": line.received,
                "cancelled": line.cancelled,
                "open": line.open_pieces,
                "unit_price_minor": line.unit_price_minor,
                "currency": line.currency,
                "due_on": _iso(line.due_on),
                "why": line.why,
            }
            for line in order.lines
        ],
    }


def shape_place(place: "StockAtPlace") -> dict[str, Any]:
    """Pieces at a place as data."""
    return {
        "location": place.location,
        "on_hand": place.on_hand,
        "committed": place.committed,
        "available": place.available,
        "snapshot": place.snapshot,
    }


def shape_movement(movement: "Movement") -> dict[str, Any]:
    """A line of the ledger as data."""
    return {
        "id": movement.id,
        "location": movement.location,
        "kind": movement.kind,
        "quantity": movement.quantity,
        "balance": movement.balance,
        "note": movement.note,
        "made_by": movement.made_by,
        "made_at": movement.made_at_utc.isoformat(),
    }


def shape_shelf_row(row: "ShelfRow") -> dict[str, Any]:
    """A stocked article as data."""
    return {
        "maker": row.name.maker,
        "part_number": row.name.part_number,
        "part_type": row.name.part_type,
        "on_hand": row.on_hand,
        "committed": row.committed,
        "places": row.places,
    }


def build_csv(rows: Iterable[Mapping[str, Any]], columns: Iterable[str]) -> str:
    """Rows as CSV; a cell that a spreadsheet would take for a formula gets an apostrophe in front."""
    names = list(columns)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    for row in rows:
        writer.writerow([_write_cell(row.get(name)) for name in names])
    return text.getvalue()


def _write_cell(value: Any) -> Any:
    if isinstance(value, list):
        value = "; ".join(str(item) for item in value)
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + value
    return "" if value is None else value


def _iso(day: Any) -> str | None:
    return day.isoformat() if day is not None else None


def _round(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
