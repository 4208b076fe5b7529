"""What the method would have held and delivered on the shop's own past, against simpler rules.

Whole months; one lead time for all parts, the middle one of the shop's offers in months. Superseded numbers
and equals are played as one part. The levels that stand today are played as they are, which knows the
future and so flatters them.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from statistics import median

from sqlmodel import Session

from kb.errors import BadInput
from kb.lookups.demand_history import DemandHistory
from kb.lookups.low_stock import LowStockQuestion, Shelf
from kb.lookups.shelf import find_prices
from kb.rules.reorder.backtest import (
    BacktestPart,
    BacktestResult,
    BacktestSetup,
    MonthLevels,
    list_cover_levels,
    list_fixed_levels,
    list_method_levels,
    run_backtest,
)

DAYS_PER_MONTH = 30.4375
MONTHS_PLAYED = 12
COVERS = (1.0, 2.0, 3.0, 6.0)


@dataclass(frozen=True, slots=True)
class PlayedRule:
    """A rule with what came of it; ``name`` says it in words."""

    name: str
    result: BacktestResult


@dataclass(frozen=True, slots=True)
class BacktestAnswer:
    """The rules side by side, and what they were played on."""

    location: str | None
    as_of: date
    parts: int
    months: int
    counted_months: int
    lead_months: int
    rules: tuple[PlayedRule, ...]


def play_backtest(
    session: Session, question: LowStockQuestion, *, lead_months: int | None = None
) -> BacktestAnswer:
    """Play the method and simpler rules over the last year of the history.

    Args:
        session: any session.
        question: where, up to which day, which service.
        lead_months: months a supplier takes; None = the middle of the offers, at least one.

    Raises:
        BadInput: the history is too short to learn from and to play.
    """
    shelf = Shelf(session, question)
    groups = shelf.list_groups()
    months = shelf.history.read_months({part for group in groups for part in group})
    played = [group for group in groups if any(part in months for part in group)]
    first = min((month for part in months.values() for month in part), default=shelf.history.last_month + 1)
    count = shelf.history.last_month - first + 1
    lead = lead_months if lead_months is not None else _find_lead_months(shelf)
    if count < 12 + lead + 3:
        message = (
            f"A history of {max(count, 0)} months is too short: a backtest learns from twelve months or more "
            "and plays three or more; load more past demand."
        )
        raise BadInput(message, field="as_of")
    start = max(count - MONTHS_PLAYED - lead - 1, 12)
    setup = BacktestSetup(start, lead, first % 12 + 1)
    prices = find_prices(session, {part for group in played for part in group})
    parts = [
        _build_part(shelf, group, months, first=first, price=_find_price(group, prices)) for group in played
    ]
    rules = [("this method", list_method_levels(parts, setup, service=question.service))]
    rules += [
        (f"order up to {cover:g} months of the mean", list_cover_levels(parts, setup, months_of_cover=cover))
        for cover in COVERS
    ]
    rules.append(("the levels of today, never changed", _list_present_levels(shelf, played, parts, setup)))
    return BacktestAnswer(
        location=shelf.scope.location,
        as_of=question.as_of,
        parts=len(parts),
        months=count,
        counted_months=count - setup.first_counted_month,
        lead_months=lead,
        rules=tuple(PlayedRule(name, run_backtest(parts, setup, levels=levels)) for name, levels in rules),
    )


def _find_lead_months(shelf: Shelf) -> int:
    days = list(shelf.lead_times.values())
    return max(round(median(days) / DAYS_PER_MONTH), 1) if days else 1


def _find_price(group: tuple[int, ...], prices: dict[int, tuple[int, str | None]]) -> int:
    return min((prices[part][0] for part in group if part in prices), default=0)


def _build_part(
    shelf: Shelf, group: tuple[int, ...], months: dict[int, dict[int, int]], *, first: int, price: int
) -> BacktestPart:
    together: dict[int, int] = defaultdict(int)
    for part in group:
        for month, pieces in months.get(part, {}).items():
            together[month] += pieces
    start = min(together)
    history: DemandHistory = shelf.history
    pieces_by_month = tuple(
        together.get(month, 0) if month >= start else None for month in range(first, history.last_month + 1)
    )
    return BacktestPart(shelf.types[group[0]], pieces_by_month, price)


def _list_present_levels(
    shelf: Shelf, groups: list[tuple[int, ...]], parts: list[BacktestPart], setup: BacktestSetup
) -> list[MonthLevels]:
    """The levels that the shop has today: set by hand, else computed today."""
    levels = [item.line.target.level or 0 for item in shelf.judge(groups)]
    return list_fixed_levels(levels, parts, setup)
