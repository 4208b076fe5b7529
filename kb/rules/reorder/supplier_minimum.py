"""Order now and pay the freight, or wait until the order is large enough: whichever costs less."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from kb.rules.reorder.equivalents import compute_need
from kb.rules.reorder.level import compute_level
from kb.rules.reorder.lot_size import SINGLE_PIECES, Packing, compute_packed_quantity
from kb.rules.reorder.negative_binomial import Demand, compute_expected_short

# Steps by which the service of all parts of a supplier is raised to fill up an order.
TOP_UP_SERVICES = (0.965, 0.975, 0.985, 0.99)
DAYS_PER_YEAR = 365


class SupplierDecision(StrEnum):
    """What to do with the lines of a supplier on its order day."""

    ORDER = "order"
    WAIT = "wait"
    NOT_KNOWN = "not_known"
    NOTHING_NEEDED = "nothing_needed"


@dataclass(frozen=True, slots=True)
class ProposedLine:
    """One suggested line: demand over the protection time, position before, pieces, money per piece."""

    demand: Demand
    position: int
    quantity: int
    unit_cost_minor: int
    unit_margin_minor: int


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """Order value from which no freight is charged, and the freight below it; None = not known.

    ``decimals`` says how many minor units make a unit of the supplier's currency: 2 = a hundred.
    """

    free_freight_from_minor: int | None
    freight_minor: int | None
    decimals: int = 2


@dataclass(frozen=True, slots=True)
class SupplierAnswer:
    """The decision with what speaks for it; ``cost_of_waiting_minor`` is an expected loss of margin."""

    decision: SupplierDecision
    order_value_minor: int
    missing_value_minor: int
    cost_of_waiting_minor: float
    pays_freight: bool
    text: str


@dataclass(frozen=True, slots=True)
class TopUpPart:
    """A part of the supplier that may fill up an order: its level rises with the service asked for."""

    maker: str
    part_number: str
    demand: Demand
    position: int
    unit_cost_minor: int
    cover_cap_pieces: int
    packing: Packing = SINGLE_PIECES
    suggested_quantity: int = 0


@dataclass(frozen=True, slots=True)
class TopUpLine:
    """Pieces of a part on the filled-up order."""

    maker: str
    part_number: str
    quantity: int


@dataclass(frozen=True, slots=True)
class TopUp:
    """An order filled up by raising the service of all parts; offered to a person, never placed."""

    service: float
    order_value_minor: int
    lines: tuple[TopUpLine, ...]


def compute_cost_of_waiting(lines: Sequence[ProposedLine]) -> float:
    """Margin expected to be lost, or kept waiting, when the lines are not ordered now [minor units].

    Sum over the lines of unit margin · (E[(D - position)+] - E[(D - position - quantity)+]).
    """
    return sum(
        line.unit_margin_minor
        * (
            compute_expected_short(line.demand, line.position)
            - compute_expected_short(line.demand, line.position + line.quantity)
        )
        for line in lines
    )


def compare_order_and_wait(lines: Sequence[ProposedLine], terms: SupplierTerms) -> SupplierAnswer:
    """Whether to order a supplier's lines now: wait unless waiting costs more than the freight.

    Args:
        lines: all suggested lines of the supplier.
        terms: free-freight value and freight. No free-freight value known: order. Freight not known
            and the value not reached: ``not_known``, a person decides.

    Returns:
        Decision, order value, value missing, cost of waiting, and a sentence. At a cost of waiting
        equal to the freight the order goes out.

    Source: worked out in this project; no source.

    Example:
        >>> line = ProposedLine(Demand(1.2, 1.8), 2, quantity=2, unit_cost_minor=1800, unit_margin_minor=900)
        >>> compare_order_and_wait([line], SupplierTerms(40000, 1500)).decision.value
        'wait'
    """
    value = sum(line.quantity * line.unit_cost_minor for line in lines)
    waiting = compute_cost_of_waiting(lines)
    missing = max((terms.free_freight_from_minor or 0) - value, 0)
    if value == 0:
        decision = SupplierDecision.NOTHING_NEEDED
    elif missing == 0:
        decision = SupplierDecision.ORDER
    elif terms.freight_minor is None:
        decision = SupplierDecision.NOT_KNOWN
    elif waiting >= terms.freight_minor:
        decision = SupplierDecision.ORDER
    else:
        decision = SupplierDecision.WAIT
    pays = decision is SupplierDecision.ORDER and missing > 0
    text = _format_decision(decision, missing_minor=missing, waiting_minor=waiting, terms=terms)
    return SupplierAnswer(decision, value, missing, waiting, pays, text)


def find_top_up(parts: Sequence[TopUpPart], free_freight_from_minor: int) -> TopUp | None:
    """The smallest rise in service that brings a supplier's order to its free-freight value, or None.

    Args:
        parts: every part bought from the supplier, also those with nothing suggested.
        free_freight_from_minor: order value to reach [minor units].

    Returns:
        Lines with quantities in whole packs; no line that brings the position of its part beyond the
        part's cover cap. None when even a service of 0.99 does not reach the value.
    """
    for service in TOP_UP_SERVICES:
        lines = [(part, _compute_topped_quantity(part, service)) for part in parts]
        value = sum(part.unit_cost_minor * quantity for part, quantity in lines)
        if value >= free_freight_from_minor:
            chosen = tuple(TopUpLine(p.maker, p.part_number, n) for p, n in lines if n > 0)
            return TopUp(service, value, chosen)
    return None


def compute_mean_review_days(order_dates: Sequence[date], today: date, *, default_days: int) -> int:
    """Mean days between a supplier's orders of the last year: its true review interval.

    Args:
        order_dates: days on which orders went out, in any order.
        today: the day of asking.
        default_days: taken when fewer than two orders went out in the last year.

    Example:
        >>> days = [date(2026, 1, 5), date(2026, 1, 19), date(2026, 2, 2)]
        >>> compute_mean_review_days(days, date(2026, 2, 10), default_days=7)
        14
    """
    first_day = today - timedelta(days=DAYS_PER_YEAR)
    recent = sorted({day for day in order_dates if first_day <= day <= today})
    if len(recent) < 2:
        return default_days
    return round((recent[-1] - recent[0]).days / (len(recent) - 1))


def _compute_topped_quantity(part: TopUpPart, service: float) -> int:
    """Pieces at a higher service; what is suggested anyway stays, what is added respects the cover cap."""
    level = compute_level(part.demand, service, pack=part.packing.pack)
    quantity = compute_packed_quantity(compute_need(level, part.position), part.packing)
    if part.position + quantity > part.cover_cap_pieces:
        return part.suggested_quantity
    return max(quantity, part.suggested_quantity)


def _format_decision(
    decision: SupplierDecision, *, missing_minor: int, waiting_minor: float, terms: SupplierTerms
) -> str:
    missing = _format_money(missing_minor, terms)
    waiting = f"waiting costs about {_format_money(waiting_minor, terms)} in margin"
    freight = _format_money(terms.freight_minor or 0, terms)
    if decision is SupplierDecision.NOTHING_NEEDED:
        return "Nothing is needed from this supplier."
    if decision is SupplierDecision.NOT_KNOWN:
        return f"{missing} short of free freight and the freight is not known; {waiting}. Decide by hand."
    if decision is SupplierDecision.WAIT:
        return f"Waiting for {missing} more in value: {waiting}, freight is {freight}."
    if missing_minor > 0:
        return f"Order now and pay {freight} freight: {waiting}."
    if terms.free_freight_from_minor is None:
        return "Order now; no value for free freight is known."
    return "Order now; the order is large enough for free freight."


def _format_money(amount_minor: float, terms: SupplierTerms) -> str:
    """Amount without a currency sign."""
    return f"{amount_minor / 10**terms.decimals:.{terms.decimals}f}"
