"""Which supplier's offer to order by: the one that costs least over a year, stock held and lines included.

A low price in large packs from far away is not the cheapest way to have a part on the shelf.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import inf

from kb.rules.currency import get_decimals
from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.equivalents import Offer
from kb.rules.reorder.level import ProtectionTime, compute_demand_ahead, compute_level
from kb.rules.reorder.lot_size import (
    LOT_CAP_MONTHS,
    LotCosts,
    compute_economic_lot,
    compute_lot_size,
    compute_packed_quantity,
    find_unit_price,
    rank_price_breaks,
)
from kb.rules.reorder.season import SeasonIndex
from kb.rules.reorder.stock_group import StockPolicy

# An offer is worth naming as the quicker one from so many days sooner on.
DAYS_SOONER = 3


@dataclass(frozen=True, slots=True)
class OfferCost:
    """An offer with the quantity of a usual order and its cost of a year; None where that is not known."""

    offer: Offer
    quantity: int
    cost_per_year_minor: float | None


def rank_offers(
    offers: Sequence[Offer], rate: DemandRate, *, season: SeasonIndex, policy: StockPolicy, today: date
) -> list[OfferCost]:
    """The offers of a part, best first: the cheapest year, or the smallest outlay for an untried part.

    The year costs: pieces at the price of a usual order, the work of its lines, and holding half an order
    and the pieces kept against the supplier's time. A part that nobody asked for yet is tried with the
    least money. Offers without a price or a time follow in the order given.

    Args:
        offers: in one currency.
        rate: of the part.
        season: of its part type.
        policy: service, review interval, costs of lines and holding; without costs the order given stays.
        today: the day of asking.

    Source: published: cost of lot and holding as in ``lot_size``; that the choice follows the year's cost is
    a judgement of this project.
    """
    if policy.lot_costs is None:
        return [OfferCost(offer, compute_packed_quantity(1, offer.packing), None) for offer in offers]
    found = [
        _cost_trial(offer)
        if rate.own_months == 0.0
        else _cost_offer(offer, rate, policy.lot_costs, wait=_Wait(season, policy, today))
        for offer in offers
    ]

    def rank_cost(item: OfferCost) -> float:
        return inf if item.cost_per_year_minor is None else item.cost_per_year_minor

    return sorted(found, key=rank_cost)


@dataclass(frozen=True, slots=True)
class _Wait:
    """What decides how much is kept against a supplier's time."""

    season: SeasonIndex
    policy: StockPolicy
    today: date


def compute_economic_quantity(offer: Offer, rate: DemandRate, costs: LotCosts | None) -> float:
    """Economic or price-break quantity; 0 where a cost or the price is not known.

    A price break beyond six months' demand is left alone: cut down to six months it would not be reached.

    Example:
        >>> from kb.rules.reorder.lot_size import PriceBreak
        >>> bands = (PriceBreak(1, 2025), PriceBreak(10, 1600))
        >>> offer, costs = Offer("house", 2025, price_breaks=bands), LotCosts(50, 0.25)
        >>> compute_economic_quantity(offer, DemandRate(2.0, 1.2, 9.0, 1.0), costs)
        10.0
        >>> round(compute_economic_quantity(offer, DemandRate(1.0, 1.2, 9.0, 1.0), costs), 2)
        1.54
    """
    per_year = 12.0 * rate.rate_per_month
    if costs is None:
        return 0.0
    if offer.price_breaks:
        choices = rank_price_breaks(offer.price_breaks, per_year, costs=costs)
        most = LOT_CAP_MONTHS * rate.rate_per_month
        first = offer.price_breaks[0].from_quantity
        within = [choice for choice in choices if choice.quantity <= max(most, first)]
        return (within or choices)[0].quantity
    if not offer.unit_price_minor:
        return 0.0
    holding = costs.holding_rate_per_year * offer.unit_price_minor
    return compute_economic_lot(
        per_year, costs.line_cost_minor, holding_per_piece_year_minor=holding
    ).quantity


def find_offered_price(offer: Offer | None, quantity: int) -> int | None:
    """Price of a piece [minor units] when so many are ordered; None where it is not known."""
    if offer is None:
        return None
    at_break = find_unit_price(offer.price_breaks, quantity)
    return offer.unit_price_minor if at_break is None else at_break


def find_quicker_offer(chosen: Offer, others: Sequence[Offer]) -> Offer | None:
    """The offer that comes soonest, where that is some days before the chosen one; None without one.

    Example:
        >>> slow, quick = Offer("far", 900, lead_time_days=35), Offer("near", 1100, lead_time_days=4)
        >>> find_quicker_offer(slow, [quick]).supplier
        'near'
        >>> find_quicker_offer(quick, [slow]) is None
        True
    """
    if chosen.lead_time_days is None:
        return None
    timed = [(offer.lead_time_days, k) for k, offer in enumerate(others) if offer.lead_time_days is not None]
    days, place = min(timed, default=(chosen.lead_time_days, 0))
    return others[place] if days <= chosen.lead_time_days - DAYS_SOONER else None


def _cost_trial(offer: Offer) -> OfferCost:
    quantity = compute_packed_quantity(1, offer.packing)
    price = find_offered_price(offer, quantity)
    return OfferCost(offer, quantity, None if price is None else float(price * quantity))


def _cost_offer(offer: Offer, rate: DemandRate, costs: LotCosts, *, wait: _Wait) -> OfferCost:
    economic = compute_economic_quantity(offer, rate, costs)
    quantity = compute_lot_size(
        1, offer.packing, economic_quantity=economic, demand_per_month=rate.rate_per_month
    ).quantity
    price = find_offered_price(offer, quantity)
    if price is None or offer.lead_time_days is None:
        return OfferCost(offer, quantity, None)
    policy = wait.policy
    protection = ProtectionTime(offer.lead_time_days, policy.review_days, policy.lead_time_sd_days)
    demand = compute_demand_ahead(rate, protection, season=wait.season, today=wait.today).protection
    level = compute_level(demand, policy.target.share, pack=offer.packing.pack)
    held = quantity / 2.0 + max(level - demand.mean, 0.0)
    per_year = 12.0 * rate.rate_per_month
    lines = costs.line_cost_minor * per_year / quantity
    return OfferCost(offer, quantity, price * per_year + lines + costs.holding_rate_per_year * price * held)


def format_offer_choice(
    ranked: Sequence[OfferCost], *, currency: str, is_untried: bool = False
) -> str | None:
    """Why the first offer was chosen, in money; None where there is nothing to compare or to tell apart.

    Args:
        ranked: offers in one currency, the best first.
        currency: its code; empty where it is not known.
        is_untried: nobody asked for the part yet.

    Example:
        >>> far, near = Offer("far", 900), Offer("near", 1100)
        >>> format_offer_choice([OfferCost(near, 1, 9900.0), OfferCost(far, 10, 12000.0)], currency="EUR")
        'Over a year, with what is held: near about 99 EUR, far 120 EUR.'
        >>> trial = [OfferCost(near, 1, 1100.0), OfferCost(far, 10, 9000.0)]
        >>> format_offer_choice(trial, currency="EUR", is_untried=True)
        'The first order costs: near 11 EUR, far 90 EUR.'
    """
    major = 10 ** get_decimals(currency)
    costs = [
        (item.offer.supplier, f"{item.cost_per_year_minor / major:.0f} {currency}".rstrip())
        for item in ranked
        if item.cost_per_year_minor is not None
    ]
    if len({said for _, said in costs}) < 2:
        return None
    (first, least), *others = costs
    rest = ", ".join(f"{supplier} {said}" for supplier, said in others)
    if is_untried:
        return f"The first order costs: {first} {least}, {rest}."
    return f"Over a year, with what is held: {first} about {least}, {rest}."


def format_quicker_offer(offer: Offer, *, currency: str) -> str:
    """The quicker way for what cannot wait, in words.

    Example:
        >>> format_quicker_offer(Offer("near", 1100, lead_time_days=4), currency="EUR")
        'near takes 4 days, at 11.00 EUR each: for what cannot wait.'
    """
    least = compute_packed_quantity(1, offer.packing)
    price = find_offered_price(offer, least)
    words = f"{offer.supplier} takes {offer.lead_time_days} days"
    if price is not None:
        decimals = get_decimals(currency)
        words += f", at {price / 10**decimals:.{decimals}f} {currency}".rstrip() + " each"
    if least > 1:
        words += f", {least} at least"
    return f"{words}: for what cannot wait."
