"""Suppliers with their terms as data."""

from typing import Any

from kb.lookups.suppliers import SupplierRef


def shape_supplier(supplier: SupplierRef) -> dict[str, Any]:
    """A supplier: what its sheet says, what is written down of it, and what counts of both."""
    written = supplier.written
    return {
        "supplier": supplier.supplier,
        "name": supplier.name,
        "currency": supplier.currency,
        "lead_time_days": supplier.lead_time_days,
        "minimum_order_minor": supplier.minimum_order_minor,
        "note": supplier.note,
        "smallest_order_minor": supplier.smallest_order_minor,
        "free_freight_from_minor": supplier.free_freight_from_minor,
        "freight_minor": written.freight_minor if written else None,
        "margin_percent": written.margin_percent if written else None,
        "terms": None
        if written is None
        else {
            "smallest_order_minor": written.smallest_order_minor,
            "free_freight_from_minor": written.free_freight_from_minor,
            "freight_minor": written.freight_minor,
            "margin_percent": written.margin_percent,
            "note": written.note,
            "made_by": written.made_by,
            "made_at": written.made_at_utc.isoformat(),
        },
    }
