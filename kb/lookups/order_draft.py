"""What to order from each supplier, whether to wait, and what would fill an order up. Nothing is sent.

The value below which a supplier takes no order or charges freight, what freight costs and what a piece earns
are what the shop wrote down of the supplier, or what is told with the question; a sheet's ``minimum_order``
stands in for the value of free freight. Where freight or margin is not known, a person decides.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.low_stock import JudgedGroup, LowStockQuestion, Shelf, list_low_stock
from kb.lookups.suppliers import SupplierRef, get_supplier, list_suppliers
from kb.rules.currency import get_decimals
from kb.rules.reorder.group_figures import compute_group_demand_ahead
from kb.rules.reorder.level import COVER_CAP_MONTHS
from kb.rules.reorder.lot_size import SINGLE_PIECES
from kb.rules.reorder.low_stock import replace_with_waiting
from kb.rules.reorder.smallest_order import limit_to_smallest_order
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


@dataclass(frozen=True, slots=True)
class OrderCosts:
    """What freight costs [minor units] and what a piece earns [% of its price]; None = not known."""

    freight_minor: int | None = None
    margin_percent: float | None = None


UNKNOWN_COSTS = OrderCosts()


@dataclass(frozen=True, slots=True)
class OrderProposal:
    """The lines for one supplier (None: parts that nobody offers), the decision and an offered top-up.

    Lines that a person decides on are shown, and count neither in the value nor in the decision.
    """

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


def _propose(
    session: Session,
    question: LowStockQuestion,
    supplier: SupplierRef,
    *,
    lines: Sequence[JudgedGroup],
    costs: OrderCosts,
) -> OrderProposal:
    known = _complete_costs(costs, supplier)
    decimals = get_decimals(supplier.currency or "")
    terms = SupplierTerms(
        supplier.free_freight_from_minor,
        # Without a margin the cost of waiting is not known, so freight alone decides nothing.
        known.freight_minor if known.margin_percent is not None else None,
        decimals,
    )
    share = (known.margin_percent or 0.0) / 100.0
    counted = [item for item in lines if _is_counted(item)]
    proposed = [_build_line(item, question, share=share) for item in counted]
    answer = compare_order_and_wait(proposed, terms)
    if not counted:
        answer = replace(answer, decision=SupplierDecision.NOT_KNOWN, text="Only parts to decide by hand.")
        return OrderProposal(supplier, tuple(lines), answer, None)
    if answer.decision is SupplierDecision.NOT_KNOWN:
        answer = replace(answer, text=_say_unknown(answer, known, decimals=decimals))
    answer = limit_to_smallest_order(answer, supplier.smallest_order_minor, decimals=decimals)
    if answer.decision is SupplierDecision.WAIT:
        lines = [
            replace(item, line=replace_with_waiting(item.line)) if _is_counted(item) else item
            for item in lines
        ]
    return OrderProposal(supplier, tuple(lines), answer, None)


def _is_counted(item: JudgedGroup) -> bool:
    """Whether a line is part of the order: what a person decides on may not be, and must not fill it up."""
    return item.line.order.quantity > 0 and not item.line.order.needs_person


def _complete_costs(costs: OrderCosts, supplier: SupplierRef) -> OrderCosts:
    """What was told with the question, else what is written down of the supplier."""
    written = supplier.written
    if written is None:
        return costs
    return OrderCosts(
        written.freight_minor if costs.freight_minor is None else costs.freight_minor,
        written.margin_percent if costs.margin_percent is None else costs.margin_percent,
    )


def _say_unknown(answer: SupplierAnswer, costs: OrderCosts, *, decimals: int) -> str:
    """Why freight decides nothing here: what is missing, and what of it can be written down."""
    missing = f"{answer.missing_value_minor / 10**decimals:.{decimals}f}"
    unknown = [
        name
        for name, value in (("the freight", costs.freight_minor), ("the margin", costs.margin_percent))
        if value is None
    ]
    return (
        f"{missing} short of free freight. Whether waiting costs more than freight cannot be told without "
        f"{' and '.join(unknown)} (terms of the supplier). Decide by hand."
    )


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
    """The proposal with pieces that would reach the value the supplier wants, where that is possible."""
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
    return replace(proposal, top_up=find_top_up(parts, supplier.wanted_value_minor))


def _build_top_up_part(item: JudgedGroup, question: LowStockQuestion) -> TopUpPart | None:
    line, rate = item.line, item.line.rate
    ahead = compute_group_demand_ahead(
        item.group, rate, lead_time_days=line.cover.lead_time_days, today=question.as_of
    )
    if ahead is None or rate is None or line.order.unit_price_minor is None or line.order.needs_person:
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
