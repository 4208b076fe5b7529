"""A line of the low-stock list as sentences that a person at the counter understands."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kb.rules.reorder.stock_line import Cover, LevelFigures, StockCount, StockList, StockReason, StockUnit


@dataclass(frozen=True, slots=True)
class SentenceFacts:
    """The figures that the sentences speak of."""

    stock: StockCount
    target: LevelFigures
    cover: Cover
    quantity: int
    rate_per_month: float | None
    unit: StockUnit
    covered_by: str
    promised_arrival: date | None


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
    stock, cover, target = facts.stock, facts.cover, facts.target
    figures = {
        "on_hand": stock.on_hand,
        "committed": stock.committed,
        "position": stock.position,
        "late": _format_days(stock.late_days),
        "reorder_point": target.reorder_point,
        "level": target.level,
        "empty_on": cover.expected_empty_on,
        "arrival": facts.promised_arrival or cover.arrives_if_ordered_today,
        "covered_by": facts.covered_by,
    }
    return [_SENTENCES[reason].format_map(figures) for reason in reasons]


def list_covering_names(names: Sequence[tuple[str, str]]) -> str:
    """Maker and number of the parts that cover, in one phrase."""
    return " and ".join(f"{maker} {number}" for maker, number in names)


_SENTENCES = {
    StockReason.OUT_OF_STOCK: "None is left on the shelf.",
    StockReason.AVAILABLE_NEGATIVE: "Jobs are promised {committed}, but there are only {on_hand}.",
    StockReason.AT_OR_BELOW_REORDER_POINT: (
        "{position} here or on the way; order at {reorder_point} or fewer, up to {level}."
    ),
    StockReason.NEW_NUMBER_SHORT: (
        "The superseded pieces do not serve those who need the new number, and of that there are too few."
    ),
    StockReason.RUNS_SHORT_BEFORE_ARRIVAL: (
        "The shelf is expected empty on {empty_on}, the next pieces come on {arrival}."
    ),
    StockReason.ORDER_LATE: "An open order is {late} late; ask the supplier.",
    StockReason.COVERED_BY_EQUIVALENT: "Covered by {covered_by}, which does the same.",
    StockReason.SUPERSEDED_SELL_DOWN: "No longer ordered: sell down what is left, or name its replacement.",
    StockReason.NO_HISTORY: "No history of its own; the figures come from its part type, so decide by hand.",
    StockReason.WAITING_FOR_SUPPLIER_MINIMUM: "Waiting until the supplier's order is large enough.",
    StockReason.MANUAL_LEVEL: "The level was set by hand.",
    StockReason.LEAD_TIME_NOT_KNOWN: (
        "How long the supplier takes is not known and counts as no time: the level is the least there can be."
    ),
    StockReason.DEMAND_NOT_KNOWN: "Demand is not known; only promised pieces are counted.",
}


def _format_days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _format_lead_time(days: int | None) -> str:
    return "supplier's time not known" if days is None else f"supplier takes {_format_days(days)}"


def _format_advice(facts: SentenceFacts, listed_on: StockList | None) -> str:
    if listed_on is StockList.ORDER:
        if facts.quantity == 0:
            return "short, but no number here can be ordered"
        return f"order {format_quantity(facts.quantity, facts.unit)}"
    if listed_on is StockList.CHASE:
        return "ask the supplier when the order comes"
    return "nothing to order"
