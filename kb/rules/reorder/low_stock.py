"""One line of the low-stock list, from everything known of an interchange group at a location.

Two lists, not one: *order* when the position is at or below the reorder point, *chase* when the
position is fine but the pieces on order are late or come after the shelf is empty.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kb.rules.reorder.equivalents import Member, Offer, find_preferred_member
from kb.rules.reorder.group_figures import (
    compute_cover,
    compute_group_demand_ahead,
    compute_level_figures,
    compute_order_figures,
    compute_raw_need,
    count_stock,
)
from kb.rules.reorder.lot_size import SINGLE_PIECES, compute_packed_quantity
from kb.rules.reorder.offer_choice import find_offered_price
from kb.rules.reorder.stock_group import StockGroup
from kb.rules.reorder.stock_line import (
    Cover,
    LevelFigures,
    OrderFigures,
    Reason,
    StockCount,
    StockLine,
    StockList,
    StockReason,
    StockWarning,
)
from kb.rules.reorder.stock_sentence import (
    SentenceFacts,
    format_reasons,
    format_stock_line,
    say_covered,
    say_covering,
)
from kb.terms import Certainty

MOSTLY_BORROWED_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class _Figures:
    stock: StockCount
    target: LevelFigures
    cover: Cover
    order: OrderFigures


def compute_stock_line(group: StockGroup, today: date) -> StockLine:
    """The line of a group on a day, whether it is listed or not (``listed_on`` None = nothing to do).

    Args:
        group: members, demand, policy, open orders.
        today: the day of asking; deliveries due before it are late.

    Returns:
        Every figure with the reasons for it. Where the demand is not known there is no level, and
        only pieces already promised to jobs are suggested.
    """
    preferred = find_preferred_member(group.members)
    offer = preferred.offer if preferred else None
    lead_time_days = offer.lead_time_days if offer else None
    stock = count_stock(group, today)
    ahead = compute_group_demand_ahead(group, group.demand.rate, lead_time_days=lead_time_days, today=today)
    target = compute_level_figures(group, ahead, offer=offer)
    cover = compute_cover(group, stock, ahead=ahead, lead_time_days=lead_time_days, today=today)
    need = compute_raw_need(group, target, offer=offer, today=today)
    order = compute_order_figures(group, need, stock=stock, preferred=preferred)
    figures = _Figures(stock, target, cover, order)
    listed_on = _choose_list(figures)
    codes = _list_reasons(group, figures, listed_on=listed_on)
    if listed_on is StockList.ORDER and offer is not None:
        codes += _list_quantity_reasons(order, offer)
    facts = _gather_facts(group, figures, listed_on=listed_on, offer=offer)
    texts = format_reasons(codes, facts)
    named = preferred or group.members[0]
    return StockLine(
        maker=named.maker,
        part_number=named.part_number,
        pooled_with=tuple((m.maker, m.part_number) for m in group.members if m is not named),
        unit=group.unit,
        listed_on=listed_on,
        stock=stock,
        target=target,
        cover=cover,
        order=order,
        rate=group.demand.rate,
        pattern=group.demand.pattern,
        unit_margin_minor=group.unit_margin_minor,
        warnings=_list_warnings(group, target, order=order),
        reasons=tuple(map(Reason, codes, texts)),
        certainty=_judge_certainty(group, figures),
        text=format_stock_line(facts, listed_on),
    )


def rank_stock_lines(lines: Iterable[StockLine], listed_on: StockList) -> list[StockLine]:
    """The lines of one list, most urgent first: chance of running short times margin.

    Lines without a known chance or margin follow, by chance. Parts that nobody asked for yet come last:
    what is known to sell goes before what may.
    """

    def rank_line(line: StockLine) -> tuple[bool, bool, float, float, str, str]:
        chance, margin = line.cover.chance_short, line.unit_margin_minor
        is_unknown = chance is None or margin is None
        return (
            line.is_untried,
            is_unknown,
            -(chance or 0.0) * (margin or 0),
            -(chance or 0.0),
            line.maker,
            line.part_number,
        )

    return sorted((line for line in lines if line.listed_on is listed_on), key=rank_line)


def replace_with_waiting(line: StockLine) -> StockLine:
    """The line with the reason that its supplier's order is not yet large enough to go out."""
    code = StockReason.WAITING_FOR_SUPPLIER_MINIMUM
    facts = SentenceFacts(line.stock, line.target, line.cover, line.order, None, line.unit)
    return replace(line, reasons=(*line.reasons, Reason(code, *format_reasons([code], facts))))


def _choose_list(figures: _Figures) -> StockList | None:
    stock, order = figures.stock, figures.order
    if order.raw_need > 0 and (order.quantity > 0 or stock.available < 0):
        return StockList.ORDER
    is_chased = stock.on_order > 0 and (
        stock.late_days > 0 or stock.available <= 0 or _is_empty_before_delivery(stock, figures.cover)
    )
    return StockList.CHASE if is_chased else None


def _is_empty_before_delivery(stock: StockCount, cover: Cover) -> bool:
    empty_on, arrival = cover.expected_empty_on, stock.earliest_arrival
    return empty_on is not None and arrival is not None and empty_on < arrival


def _list_reasons(group: StockGroup, figures: _Figures, *, listed_on: StockList | None) -> list[StockReason]:
    stock, target, cover, order = figures.stock, figures.target, figures.cover, figures.order
    is_wanted = target.level != 0 or stock.available < 0
    covered = bool(_list_covering(group)) and listed_on is None
    rate = group.demand.rate
    is_below = target.reorder_point is not None and stock.position <= target.reorder_point
    lead_is_missing = cover.lead_time_days is None and not target.is_manual
    # Pairs and no dictionary: an enum's hash is computed in Python, a dozen times a line.
    holds = (
        (StockReason.OUT_OF_STOCK, stock.on_hand <= 0 and is_wanted),
        (StockReason.AVAILABLE_NEGATIVE, stock.available < 0),
        (StockReason.AT_OR_BELOW_REORDER_POINT, order.raw_need > 0 and is_below),
        (StockReason.NEW_NUMBER_SHORT, order.raw_need > 0 and target.level is not None and not is_below),
        (StockReason.RUNS_SHORT_BEFORE_ARRIVAL, _is_short_before_arrival(stock, cover, listed_on=listed_on)),
        (StockReason.ORDER_LATE, stock.late_days > 0),
        (StockReason.COVERED_BY_EQUIVALENT, covered),
        (StockReason.SUPERSEDED_SELL_DOWN, all(not member.is_orderable for member in group.members)),
        (StockReason.NO_HISTORY, rate is not None and rate.own_months == 0.0),
        (StockReason.MANUAL_LEVEL, target.is_manual),
        (StockReason.LEAD_TIME_NOT_KNOWN, lead_is_missing),
        (StockReason.DEMAND_NOT_KNOWN, rate is None and not target.is_manual),
    )
    return [reason for reason, is_so in holds if is_so]


def _list_quantity_reasons(order: OrderFigures, offer: Offer) -> list[StockReason]:
    """Why more is ordered than is needed, where it is."""
    least = compute_packed_quantity(order.raw_need, offer.packing)
    if order.quantity <= order.raw_need:
        return []
    if order.quantity <= least:
        return [StockReason.ROUNDED_TO_PACK]
    price, single = order.unit_price_minor, find_offered_price(offer, least)
    is_lower = price is not None and single is not None and price < single
    return [StockReason.LOWER_PRICE if is_lower else StockReason.LARGER_LOT]


def _is_short_before_arrival(stock: StockCount, cover: Cover, *, listed_on: StockList | None) -> bool:
    if listed_on is StockList.CHASE:
        return _is_empty_before_delivery(stock, cover)
    empty_on, arrives = cover.expected_empty_on, cover.arrives_if_ordered_today
    if listed_on is not StockList.ORDER or empty_on is None or arrives is None:
        return False
    return empty_on < arrives


def _list_covering(group: StockGroup) -> Sequence[Member]:
    """The members with pieces to sell, when another member has none."""
    having = [member for member in group.members if member.available > 0]
    return having if len(having) < len(group.members) else []


def _gather_facts(
    group: StockGroup, figures: _Figures, *, listed_on: StockList | None, offer: Offer | None
) -> SentenceFacts:
    stock, target, cover, order = figures.stock, figures.target, figures.cover, figures.order
    covering = _list_covering(group)
    covered = [member for member in group.members if member not in covering] if covering else []
    return SentenceFacts(
        stock=stock,
        target=target,
        cover=cover,
        order=order,
        rate_per_month=group.demand.rate.rate_per_month if group.demand.rate else None,
        unit=group.unit,
        packing=offer.packing if offer else SINGLE_PIECES,
        old_position=sum([member.position for member in group.members if not member.is_orderable]),
        covered=say_covered([(member.maker, member.part_number) for member in covered]),
        covered_by=say_covering([(member.maker, member.part_number) for member in covering]),
        promised_arrival=stock.earliest_arrival if listed_on is StockList.CHASE else None,
    )


def _list_warnings(
    group: StockGroup, target: LevelFigures, *, order: OrderFigures
) -> tuple[StockWarning, ...]:
    rate = group.demand.rate
    is_borrowed = rate is not None and rate.share_borrowed > MOSTLY_BORROWED_SHARE
    own = (
        (StockWarning.LEVEL_CAPPED, target.is_capped),
        (StockWarning.LOT_CAPPED, order.is_lot_capped),
        (StockWarning.PACK_BEYOND_A_YEAR, order.is_pack_beyond_a_year),
        (StockWarning.MOSTLY_BORROWED_RATE, is_borrowed),
    )
    return group.warnings + tuple([warning for warning, is_so in own if is_so])


def _judge_certainty(group: StockGroup, figures: _Figures) -> Certainty:
    """Sure where counting alone decides, unsure where a figure is missing or mostly borrowed."""
    if figures.stock.available < 0 or figures.target.is_manual:
        return Certainty.SURE
    lead_time_days = figures.cover.lead_time_days
    rate = group.demand.rate
    if rate is None or lead_time_days is None or rate.share_borrowed > MOSTLY_BORROWED_SHARE:
        return Certainty.UNSURE
    return Certainty.PROBABLE
