"""The figures of an interchange group: stock, level, cover, and the quantity to order."""

from dataclasses import replace
from datetime import date, timedelta

from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.equivalents import (
    Member,
    Offer,
    compute_need,
    compute_one_way_need,
    compute_pooled_position,
)
from kb.rules.reorder.level import (
    DemandAhead,
    ProtectionTime,
    compute_demand_ahead,
    compute_fill_rate,
    compute_stock_level,
)
from kb.rules.reorder.lot_size import (
    PACK_CAP_MONTHS,
    SINGLE_PIECES,
    compute_lot_size,
    compute_packed_quantity,
)
from kb.rules.reorder.negative_binomial import compute_probability_at_most
from kb.rules.reorder.offer_choice import compute_economic_quantity, find_offered_price
from kb.rules.reorder.season import compute_exposure_ahead
from kb.rules.reorder.stock_group import StockGroup
from kb.rules.reorder.stock_line import Cover, LevelFigures, OrderFigures, StockCount

# Days looked ahead for the daily rate where the supplier's time is not known.
DEFAULT_DAYS_AHEAD = 30
# Beyond this many days a date would pretend to know too much.
LONGEST_DATED_COVER_DAYS = 3650
# Where the supplier's time is not known, one piece is kept of what is asked for so many times a year.
LEAST_RATE_PER_YEAR = 2.0
# A person decides where a smallest order lasts more than a year and what is beyond it is no trifle, measured
# by the work of so many order lines.
TRIFLE_LINES = 40


def compute_days_of_cover(available: int, daily_rate: float | None) -> float | None:
    """Days that the available pieces last: 0 when none is available, None when nothing is asked for.

    Example:
        >>> compute_days_of_cover(9, 0.3), compute_days_of_cover(9, 0.0), compute_days_of_cover(0, 0.3)
        (30.0, None, 0.0)
    """
    if available <= 0:
        return 0.0
    if not daily_rate:
        return None
    return available / daily_rate


def count_stock(group: StockGroup, today: date) -> StockCount:
    """Pieces of all members, and what the open orders promise."""
    due = [order.due_on for order in group.open_orders if order.due_on and order.quantity > 0]
    members = group.members
    return StockCount(
        on_hand=sum([member.on_hand for member in members]),
        committed=sum([member.committed for member in members]),
        on_order=sum([member.on_order for member in members]),
        earliest_arrival=min(due, default=None),
        late_days=max(((today - day).days for day in due if day < today), default=0),
    )


def compute_group_demand_ahead(
    group: StockGroup, rate: DemandRate | None, *, lead_time_days: int | None, today: date
) -> DemandAhead | None:
    """Demand ahead at a rate; None where the rate is not known.

    Where the lead time is not known it counts as none: every level that follows is the least there can be.
    """
    if rate is None:
        return None
    policy = group.policy
    protection = ProtectionTime(lead_time_days or 0, policy.review_days, policy.lead_time_sd_days)
    return compute_demand_ahead(rate, protection, season=group.demand.season, today=today)


def compute_level_figures(
    group: StockGroup, ahead: DemandAhead | None, *, offer: Offer | None
) -> LevelFigures:
    """Level set by hand, else computed, else None where the demand is not known."""
    service, manual, rate = group.policy.target, group.policy.manual_level, group.demand.rate
    is_lead_known = offer is not None and offer.lead_time_days is not None
    if manual is not None:
        fill = compute_fill_rate(manual, ahead.lead_time, protection=ahead.protection) if ahead else None
        return LevelFigures(manual, manual - 1, service, fill if is_lead_known else None, is_manual=True)
    if ahead is None or rate is None:
        return LevelFigures(None, None, service, None)
    level = compute_stock_level(
        ahead,
        service,
        pack=offer.packing.pack if offer else 1,
        rate_per_month=rate.rate_per_month,
    )
    if is_lead_known:
        return LevelFigures(
            level.level, level.reorder_point, service, level.fill_rate, is_capped=level.is_capped
        )
    # Without a time the computed level is the least there can be: often 0, for parts that sell.
    least = max(level.level, 1 if 12.0 * rate.rate_per_month >= LEAST_RATE_PER_YEAR else 0)
    return LevelFigures(least, least - 1, service, None, is_capped=level.is_capped)


def compute_cover(
    group: StockGroup,
    stock: StockCount,
    *,
    ahead: DemandAhead | None,
    lead_time_days: int | None,
    today: date,
) -> Cover:
    """Days of cover and dates, from the daily rate of the days until an order would arrive."""
    rate, daily = group.demand.rate, None
    if rate is not None:
        days = DEFAULT_DAYS_AHEAD if lead_time_days is None else lead_time_days + group.policy.review_days
        days = max(days, 1)
        exposure = compute_exposure_ahead(group.demand.season, today, days=days)
        daily = rate.rate_per_month * exposure / days
    cover_days = compute_days_of_cover(stock.available, daily)
    is_dated = cover_days is not None and cover_days <= LONGEST_DATED_COVER_DAYS
    chance = None
    if ahead is not None and lead_time_days is not None:
        chance = 1.0 - compute_probability_at_most(ahead.lead_time, stock.position)
    return Cover(
        daily_rate=daily,
        days_of_cover=cover_days,
        expected_empty_on=today + timedelta(days=int(cover_days or 0)) if is_dated else None,
        lead_time_days=lead_time_days,
        arrives_if_ordered_today=None if lead_time_days is None else today + timedelta(days=lead_time_days),
        chance_short=chance,
    )


def compute_raw_need(group: StockGroup, target: LevelFigures, *, offer: Offer | None, today: date) -> int:
    """Pieces missing; without a level only what jobs are already promised."""
    level = target.level or 0
    new_only = group.demand.new_only_rate
    if new_only is None or target.is_manual:
        return compute_need(level, compute_pooled_position(group.members))
    lead_time_days = offer.lead_time_days if offer else None
    ahead = compute_group_demand_ahead(group, new_only, lead_time_days=lead_time_days, today=today)
    new_target = compute_level_figures(
        replace(group, demand=replace(group.demand, rate=new_only)), ahead, offer=offer
    )
    return compute_one_way_need(
        level,
        new_target.level or 0,
        position_old=sum(member.position for member in group.members if not member.is_orderable),
        position_new=sum(member.position for member in group.members if member.is_orderable),
    )


def compute_order_figures(
    group: StockGroup, need: int, *, stock: StockCount, preferred: Member | None
) -> OrderFigures:
    """What to order of the preferred member for a raw need."""
    if preferred is None:
        return OrderFigures(need, 0, None, None, needs_person=need > 0)
    offer, rate = preferred.offer, group.demand.rate
    packing = offer.packing if offer else SINGLE_PIECES
    has_no_history = rate is not None and rate.own_months == 0.0 and group.policy.manual_level is None
    is_lot_capped = is_pack_beyond = False
    if rate is None:
        quantity = compute_packed_quantity(need, packing)
    else:
        economic = 0.0
        if offer is not None and not has_no_history:
            economic = compute_economic_quantity(offer, rate, group.policy.lot_costs)
        lot = compute_lot_size(
            need, packing, economic_quantity=economic, demand_per_month=rate.rate_per_month
        )
        quantity, is_lot_capped, is_pack_beyond = lot.quantity, lot.is_capped, lot.is_beyond_cover_cap
    if has_no_history:
        # A first order of a part nobody has asked for yet is one pack, or what jobs are promised.
        first_order = compute_packed_quantity(max(1, -stock.position), packing)
        is_lot_capped = quantity > first_order
        quantity = min(quantity, first_order)
    price = find_offered_price(offer, quantity)
    is_hoard = is_pack_beyond and _is_hoard(group, quantity, need=need, price_minor=price)
    return OrderFigures(
        raw_need=need,
        quantity=quantity,
        supplier=offer.supplier if offer else None,
        unit_price_minor=price,
        is_lot_capped=is_lot_capped,
        is_pack_beyond_a_year=is_pack_beyond,
        needs_person=need > 0 and (has_no_history or offer is None or is_hoard),
    )


def _is_hoard(group: StockGroup, quantity: int, *, need: int, price_minor: int | None) -> bool:
    """Whether a smallest order lasts more than a year and is worth asking a person about.

    Source: judgement of this project. Ten screws for four years are ordered without a question, ten belts
    are not.
    """
    rate, costs = group.demand.rate, group.policy.lot_costs
    if rate is None or costs is None:
        return False
    beyond = quantity - max(PACK_CAP_MONTHS * rate.rate_per_month, need)
    return beyond > 0 and (price_minor is None or beyond * price_minor > TRIFLE_LINES * costs.line_cost_minor)
