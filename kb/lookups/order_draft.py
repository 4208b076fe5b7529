"""What to order from each supplier, whether to wait, and what would fill an order up. Nothing is sent.

The value below which a supplier takes no order, or charges freight, is its ``minimum_order``. What freight
costs and what a piece earns is not in the catalogue; where they are not told, a person decides.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.low_stock import JudgedGroup, LowStockQuestion, Shelf, list_low_stock
from kb.rules.nearest import find_nearest, format_nearest
from kb.rules.reorder.group_figures import compute_group_demand_ahead
from kb.rules.reorder.level import COVER_CAP_MONTHS
from kb.rules.reorder.lot_size import SINGLE_PIECES
from kb.rules.reorder.low_stock import replace_with_waiting
from kb.rules.reorder.supplier_minimum import (
    ProposedLine,
    SupplierAnswer,
    SupplierDecision,
    SupplierTerms,
    TopUp,
    TopUpPart,
    compare_order_and_wait,
    find_top_up,
)
from kb.tables.columns import get_table

CURRENCY_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class OrderCosts:
    """What freight costs [minor units] and what a piece earns [% of its price]; None = not known."""

    freight_minor: int | None = None
    margin_percent: float | None = None


UNKNOWN_COSTS = OrderCosts()


@dataclass(frozen=True, slots=True)
class SupplierRef:
    """A supplier with its terms."""

    id: int
    supplier: str
    name: str | None
    currency: str | None
    minimum_order_minor: int | None
    lead_time_days: int | None


@dataclass(frozen=True, slots=True)
class OrderProposal:
    """The lines for one supplier (None: parts that nobody offers), the decision and an offered top-up."""

    supplier: SupplierRef | None
    lines: tuple[JudgedGroup, ...]
    answer: SupplierAnswer | None
    top_up: TopUp | None


def draft_orders(
    session: Session,
    question: LowStockQuestion,
    *,
    supplier: str | None = None,
    costs: OrderCosts = UNKNOWN_COSTS,
    is_topped_up: bool = False,
) -> list[OrderProposal]:
    """A proposal for each supplier of whom something is needed, in the order of their names.

    Args:
        session: any session.
        question: where and when.
        supplier: this supplier only.
        costs: freight and margin, where known.
        is_topped_up: look for pieces that would fill the order up to the supplier's minimum.

    Raises:
        NotFound: no supplier or location has this name; the message names the nearest.
    """
    wanted = get_supplier(session, supplier) if supplier is not None else None
    by_supplier: dict[int | None, list[JudgedGroup]] = defaultdict(list)
    for item in list_low_stock(session, question).order:
        by_supplier[item.offer.supplier_id if item.offer else None].append(item)
    suppliers = {ref.id: ref for ref in list_suppliers(session)}
    proposals = [
        _propose(session, question, suppliers[supplier_id], lines=lines, costs=costs)
        for supplier_id, lines in by_supplier.items()
        if supplier_id is not None and wanted in (None, suppliers[supplier_id])
    ]
    if is_topped_up:
        proposals = [_top_up(session, question, proposal) for proposal in proposals]
    proposals.sort(key=lambda proposal: proposal.supplier.supplier if proposal.supplier else "")
    if wanted is None and by_supplier.get(None):
        proposals.append(OrderProposal(None, tuple(by_supplier[None]), None, None))
    return proposals


def list_suppliers(session: Session) -> list[SupplierRef]:
    """All suppliers, by name."""
    table = get_table("supplier").c
    columns = (
        table.id,
        table.supplier,
        table.name,
        table.currency,
        table.minimum_order_minor,
        table.lead_time_days,
    )
    return [SupplierRef(*row) for row in session.execute(select(*columns).order_by(table.supplier))]


def get_supplier(session: Session, name: str) -> SupplierRef:
    """The supplier with this name, case aside.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    known = list_suppliers(session)
    for ref in known:
        if ref.supplier.casefold() == name.strip().casefold():
            return ref
    names = [ref.supplier for ref in known]
    message = f"Supplier '{name[:60]}' is not known; {format_nearest(name, names)}."
    raise NotFound(message, nearest=find_nearest(name, names))


def _propose(
    session: Session,
    question: LowStockQuestion,
    supplier: SupplierRef,
    *,
    lines: Sequence[JudgedGroup],
    costs: OrderCosts,
) -> OrderProposal:
    terms = SupplierTerms(
        supplier.minimum_order_minor,
        # Without a margin the cost of waiting is not known, so freight alone decides nothing.
        costs.freight_minor if costs.margin_percent is not None else None,
        CURRENCY_DECIMALS,
    )
    share = (costs.margin_percent or 0.0) / 100.0
    proposed = [_build_line(item, question, share=share) for item in lines if item.line.order.quantity > 0]
    answer = compare_order_and_wait(proposed, terms)
    if answer.decision is SupplierDecision.WAIT:
        lines = [replace(item, line=replace_with_waiting(item.line)) for item in lines]
    return OrderProposal(supplier, tuple(lines), answer, None)


def _build_line(item: JudgedGroup, question: LowStockQuestion, *, share: float) -> ProposedLine:
    line = item.line
    ahead = compute_group_demand_ahead(
        item.group, line.rate, lead_time_days=line.cover.lead_time_days, today=question.as_of
    )
    assert ahead is not None  # the rate of a judged group is never unknown
    price = line.order.unit_price_minor or 0
    return ProposedLine(
        ahead.protection, line.stock.position, line.order.quantity, price, round(share * price)
    )


def _top_up(session: Session, question: LowStockQuestion, proposal: OrderProposal) -> OrderProposal:
    """The proposal with pieces that would reach the supplier's minimum, where that is possible."""
    supplier, answer = proposal.supplier, proposal.answer
    if supplier is None or answer is None or answer.missing_value_minor == 0:
        return proposal
    offered = get_table("offer").c
    part_ids = set(
        session.execute(
            select(offered.part_id).where(offered.supplier_id == supplier.id).distinct()
        ).scalars()
    )
    shelf = Shelf(session, question)
    groups = [group for group in shelf.list_groups() if not part_ids.isdisjoint(group)]
    judged = [item for item in shelf.judge(groups) if item.offer and item.offer.supplier_id == supplier.id]
    parts = [part for item in judged if (part := _build_top_up_part(item, question)) is not None]
    return replace(proposal, top_up=find_top_up(parts, supplier.minimum_order_minor or 0))


def _build_top_up_part(item: JudgedGroup, question: LowStockQuestion) -> TopUpPart | None:
    line, rate = item.line, item.line.rate
    ahead = compute_group_demand_ahead(
        item.group, rate, lead_time_days=line.cover.lead_time_days, today=question.as_of
    )
    if ahead is None or rate is None or line.order.unit_price_minor is None:
        return None
    offer = item.offer.offer if item.offer else None
    return TopUpPart(
        line.maker,
        line.part_number,
        ahead.protection,
        line.stock.position,
        line.order.unit_price_minor,
        ceil(COVER_CAP_MONTHS * rate.rate_per_month),
        offer.packing if offer else SINGLE_PIECES,
        line.order.quantity,
    )
