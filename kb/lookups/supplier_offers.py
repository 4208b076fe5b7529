"""What suppliers ask for a part now: the newest offer of each, with its price breaks; the best first."""

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from sqlalchemy import String, cast, func, select
from sqlmodel import Session

from kb.lookups.shelf import is_among, iterate_rows
from kb.rules.reorder.equivalents import Offer
from kb.rules.reorder.lot_size import Packing, PriceBreak
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class SupplierOffer:
    """One supplier's newest offer of a part."""

    supplier_id: int
    supplier: str
    supplier_sku: str | None
    currency: str | None
    offer: Offer


def find_shop_currency(session: Session) -> str | None:
    """The currency that most offers are in; prices in others cannot be compared and rank behind it."""
    table = get_table("offer").c
    counts: Counter[str] = Counter()
    statement = select(table.currency, func.count()).where(table.currency.is_not(None))
    for currency, count in session.execute(statement.group_by(table.currency)):
        counts[currency] = count
    return max(counts, key=lambda name: (counts[name], name)) if counts else None


def find_supplier_offers(
    session: Session, part_ids: Collection[int], *, supplier: str | None = None
) -> dict[int, list[SupplierOffer]]:
    """Offers by part, best first: in the shop's currency, with a price, by price, by days.

    Args:
        session: any session.
        part_ids: the parts.
        supplier: offers of this supplier only.
    """
    shop_currency = find_shop_currency(session)
    rows = _read_rows(session, part_ids, supplier)
    found: dict[int, list[SupplierOffer]] = defaultdict(list)
    for (part_id, _supplier_id), offered in rows.items():
        found[part_id].append(_build_offer(offered))

    def rank_offer(item: SupplierOffer) -> tuple[bool, float, float, str]:
        price, days = item.offer.unit_price_minor, item.offer.lead_time_days
        return (
            item.currency != shop_currency,
            float("inf") if price is None else price,
            float("inf") if days is None else days,
            item.supplier,
        )

    for offers in found.values():
        if len(offers) > 1:
            offers.sort(key=rank_offer)
    return found


def find_lead_times(session: Session) -> tuple[dict[int, int], set[int]]:
    """Longest time that any supplier takes for a part [days]; the parts with an offer that names none.

    One question for all parts.
    """
    offer, supplier = get_table("offer").c, get_table("supplier").c
    days = func.coalesce(offer.lead_time_days, supplier.lead_time_days)
    statement = (
        select(offer.part_id, func.max(days), func.count() - func.count(days))
        .select_from(get_table("offer").join(get_table("supplier")))
        .group_by(offer.part_id)
    )
    longest: dict[int, int] = {}
    untimed: set[int] = set()
    for part_id, most, missing in iterate_rows(session, statement):
        if most is not None:
            longest[part_id] = most
        if missing:
            untimed.add(part_id)
    return longest, untimed


class _OfferRow(NamedTuple):
    part_id: int
    supplier_id: int
    supplier_sku: str | None
    price_minor: int | None
    currency: str | None
    pack_size: int | None
    minimum_quantity: int | None
    lead_time_days: int | None
    seen_on: str
    supplier: str
    usual_currency: str | None
    usual_days: int | None


def _read_rows(
    session: Session, part_ids: Collection[int], supplier_name: str | None
) -> dict[tuple[int, int], list[_OfferRow]]:
    offer, supplier = get_table("offer"), get_table("supplier")
    found: dict[tuple[int, int], list[_OfferRow]] = defaultdict(list)
    if not part_ids:
        return found
    statement = (
        select(
            offer.c.part_id,
            offer.c.supplier_id,
            offer.c.supplier_sku,
            offer.c.price_minor,
            offer.c.currency,
            offer.c.pack_size,
            offer.c.minimum_quantity,
            offer.c.lead_time_days,
            # As text: it sorts the same, and the driver's own rows then do for both databases.
            func.coalesce(cast(offer.c.seen_on, String), ""),
            supplier.c.supplier,
            supplier.c.currency,
            supplier.c.lead_time_days,
        )
        .select_from(offer.join(supplier))
        .where(is_among(session, offer.c.part_id, part_ids))
        .order_by(offer.c.id)
    )
    if supplier_name is not None:
        statement = statement.where(supplier.c.supplier == supplier_name)
    for row in map(_OfferRow._make, iterate_rows(session, statement)):
        found[row.part_id, row.supplier_id].append(row)
    return found


_get_packing = lru_cache(maxsize=256)(Packing)  # thousands of offers share a few ways of packing


def _build_offer(rows: Sequence[_OfferRow]) -> SupplierOffer:
    """The newest offer of a supplier; rows seen on the same day are its price breaks."""
    current = rows if len(rows) == 1 else _list_current(rows)
    first = current[0]
    breaks: list[PriceBreak] = []
    if len(current) > 1:
        breaks = [
            PriceBreak(row.minimum_quantity or 1, row.price_minor)
            for row in current
            if row.price_minor is not None
        ]
    days = first.usual_days if first.lead_time_days is None else first.lead_time_days
    return SupplierOffer(
        supplier_id=first.supplier_id,
        supplier=first.supplier,
        supplier_sku=first.supplier_sku,
        currency=first.currency or first.usual_currency,
        offer=Offer(
            supplier=first.supplier,
            unit_price_minor=first.price_minor,
            packing=_get_packing(first.pack_size or 1, first.minimum_quantity or 0),
            lead_time_days=days,
            price_breaks=tuple(breaks) if len(breaks) > 1 else (),
        ),
    )


def _list_current(rows: Sequence[_OfferRow]) -> list[_OfferRow]:
    """The rows of the newest day with its smallest pack, by quantity."""
    newest = max(row.seen_on for row in rows)
    current = [row for row in rows if row.seen_on == newest]
    pack = min(row.pack_size or 1 for row in current)
    return sorted(
        (row for row in current if (row.pack_size or 1) == pack), key=lambda row: row.minimum_quantity or 1
    )
