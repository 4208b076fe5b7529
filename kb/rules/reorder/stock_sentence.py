"""A line of the low-stock list as sentences that a person at the counter understands."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kb.rules.reorder.lot_size import SINGLE_PIECES, Packing, compute_packed_quantity
from kb.rules.reorder.stock_line import (
    Cover,
    LevelFigures,
    OrderFigures,
    StockCount,
    StockList,
    StockReason,
    StockUnit,
)
from kb.rules.word_list import format_word_list

MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class SentenceFacts:
    """The figures that the sentences speak of."""

    stock: StockCount
    target: LevelFigures
    cover: Cover
    order: OrderFigures
    rate_per_month: float | None
    unit: StockUnit
    packing: Packing = SINGLE_PIECES
    covered: str = ""
    covered_by: str = ""
    promised_arrival: date | None = None
    old_position: int = 0


def format_monthly_rate(rate_per_month: float | None) -> str:
    """A rate in round words: a month for what sells monthly, a year for what sells less.

    Example:
        >>> format_monthly_rate(2.9), format_monthly_rate(0.42), format_monthly_rate(0.03)
        ('about 3 a month', 'about 5 a year', 'less than 1 a year')
    """
    if rate_per_month is None:
        return "demand not known"
    if rate_per_month >= 0.95:
        return f"about {round(rate_per_month)} a month"
    per_year = 12.0 * rate_per_month
    return "less than 1 a year" if per_year < 0.95 else f"about {round(per_year)} a year"


def format_quantity(quantity: int, unit: StockUnit) -> str:
    """A number with its unit; pieces go without saying.

    Example:
        >>> format_quantity(1, StockUnit.SET), format_quantity(4, StockUnit.SET)
        ('1 set', '4 sets')
    """
    if unit is StockUnit.PIECE:
        return str(quantity)
    return f"{quantity} set" if quantity == 1 else f"{quantity} sets"


def format_stock_line(facts: SentenceFacts, listed_on: StockList | None) -> str:
    """The whole line in one sentence: what is there, what goes, how long the supplier takes, what to do."""
    stock = facts.stock
    known = [f"{format_quantity(stock.on_hand, facts.unit)} on the shelf"]
    if stock.committed:
        known.append(f"{stock.committed} set aside")
    if stock.on_order:
        known.append(f"{stock.on_order} on order")
    known.append(format_monthly_rate(facts.rate_per_month))
    known.append(_format_lead_time(facts.cover.lead_time_days))
    return f"{', '.join(known)}: {_format_advice(facts, listed_on)}"


def format_reasons(reasons: Sequence[StockReason], facts: SentenceFacts) -> list[str]:
    """Each reason as a full sentence."""
    stock, order = facts.stock, facts.order
    figures = {
        "on_hand": stock.on_hand,
        "committed": stock.committed,
        "position": _format_position(stock.position),
        "late": _format_days(stock.late_days),
        "order_at": _format_reorder_point(facts.target.reorder_point),
        "level": facts.target.level,
        "arrival": _format_arrival(facts),
        "covered": facts.covered,
        "covered_by": facts.covered_by,
        "need": order.raw_need,
        "quantity": order.quantity,
        "packs": _format_packing(facts),
        "old": facts.old_position,
        "new": stock.position - facts.old_position,
    }
    return [_SENTENCES[reason].format_map(figures) for reason in reasons]


def say_covered(names: Sequence[tuple[str, str]]) -> str:
    """The parts that others stand in for, by name as long as they are few."""
    if len(names) > MOST_NAMED:
        return f"{len(names)} of the parts that are counted here together"
    return list_covering_names(names)


def say_covering(names: Sequence[tuple[str, str]]) -> str:
    """The parts that stand in for others, with their verb.

    Example:
        >>> say_covering([("Kestrow", "7")]), say_covering([("Kestrow", "7"), ("Larkmoor", "8")])
        ('Kestrow 7 does', 'Kestrow 7 and Larkmoor 8 do')
    """
    return f"{list_covering_names(names)} {'does' if len(names) == 1 else 'do'}"


def list_covering_names(names: Sequence[tuple[str, str]]) -> str:
    """Maker and number of parts, in one phrase."""
    return format_word_list([f"{maker} {number}" for maker, number in names])


_SENTENCES = {
    StockReason.OUT_OF_STOCK: "None is left on the shelf.",
    StockReason.AVAILABLE_NEGATIVE: "Jobs are promised {committed}, but there are only {on_hand}.",
    StockReason.AT_OR_BELOW_REORDER_POINT: ("{position}; {order_at}, up to {level}."),
    StockReason.NEW_NUMBER_SHORT: (
        "Of the new number {new} are here or on the way, of the superseded one {old}; the old one does not "
        "serve everybody who needs the new one."
    ),
    StockReason.ROUNDED_TO_PACK: "Needed {need}; {packs}.",
    StockReason.LOWER_PRICE: "Needed {need}; {quantity} at once come at a lower price each.",
    StockReason.LARGER_LOT: "Needed {need}; {quantity} at once save an order line soon after.",
    StockReason.RUNS_SHORT_BEFORE_ARRIVAL: "{arrival}.",
    StockReason.ORDER_LATE: "An open order is {late} late; ask the supplier.",
    StockReason.COVERED_BY_EQUIVALENT: "Nothing free is left of {covered}; {covered_by} the same.",
    StockReason.SUPERSEDED_SELL_DOWN: "No longer ordered: sell down what is left, or name its replacement.",
    StockReason.NO_HISTORY: "No history of its own; the figures come from its part type, so decide by hand.",
    StockReason.WAITING_FOR_SUPPLIER_MINIMUM: "Waiting until the supplier's order is large enough.",
    StockReason.MANUAL_LEVEL: "The level was set by hand.",
    StockReason.LEAD_TIME_NOT_KNOWN: (
        "How long the supplier takes is not known: the level is the least there can be."
    ),
    StockReason.DEMAND_NOT_KNOWN: "Demand is not known; only promised pieces are counted.",
}


def _format_position(position: int) -> str:
    if position < 0:
        return f"{-position} more promised than here or on the way"
    return f"{position or 'Nothing'} here or on the way"


def _format_reorder_point(reorder_point: int | None) -> str:
    return "order when none is left" if reorder_point == 0 else f"order at {reorder_point} or fewer"


def _format_arrival(facts: SentenceFacts) -> str:
    """When the shelf is empty, where it is not yet, and when the next pieces come."""
    promised, cover = facts.promised_arrival, facts.cover
    comes = f"ordered today, pieces come on {cover.arrives_if_ordered_today}"
    if promised is not None:
        comes = f"the pieces on order are promised for {promised}"
    if facts.stock.available <= 0:
        return comes[0].upper() + comes[1:]
    return f"The shelf is expected empty on {cover.expected_empty_on}; {comes}"


def _format_packing(facts: SentenceFacts) -> str:
    """How the supplier sells, and how long that lasts where it is more than a year."""
    packing, least = facts.packing, compute_packed_quantity(1, facts.packing)
    words = f"sold in packs of {packing.pack}" if packing.pack > 1 else f"sold from {least} on"
    if packing.pack > 1 and least > packing.pack:
        words += f", {least} at least"
    if facts.order.is_pack_beyond_a_year and facts.rate_per_month:
        words += f"; that lasts {_format_time(facts.order.quantity / facts.rate_per_month)}"
        words += ", so decide by hand" if facts.order.needs_person else ""
    return words


def _format_time(months: float) -> str:
    return f"about {round(months)} months" if months < 23.5 else f"about {round(months / 12.0)} years"


def _format_days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _format_lead_time(days: int | None) -> str:
    return "supplier's time not known" if days is None else f"supplier takes {_format_days(days)}"


def _format_advice(facts: SentenceFacts, listed_on: StockList | None) -> str:
    if listed_on is StockList.ORDER:
        if facts.order.quantity == 0:
            return "short, but no number here can be ordered"
        return f"order {format_quantity(facts.order.quantity, facts.unit)}"
    if listed_on is StockList.CHASE:
        return "ask the supplier when the order comes"
    return "nothing to order"
