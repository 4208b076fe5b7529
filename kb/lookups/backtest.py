"""What the method would have held and delivered on the shop's own past, against simpler rules.

Whole months; one lead time for all parts, the middle one of the shop's offers in months. Superseded numbers
and equals are played as one part. The levels that stand today are played as they are, which knows the
future and so flatters them. Simple rules are also turned until they serve as much as the method: then the
pieces held tell which is better.
"""

from collections import defaultdict
from dataclasses import dataclass, replace
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
    iterate_method_demand,
    list_cover_levels,
    list_fixed_levels,
    run_backtest,
)
from kb.rules.reorder.equal_service import HeldAt, Knob, find_held_at, turn_cover, turn_fixed, turn_service
from kb.rules.reorder.level import compute_level

DAYS_PER_MONTH = 30.4375
MONTHS_PLAYED = 12
COVERS = (1.0, 2.0, 3.0, 6.0)
# A rule that serves less is not held against the method.
LOWEST_COMPARED = 0.75
# How far the simple rules are turned at most: months of cover, and times the levels of today.
MOST_COVER, MOST_FACTOR = 36.0, 40.0


@dataclass(frozen=True, slots=True)
class PlayedRule:
    """A rule with what came of it; ``name`` says it in words.

    ``method_held`` is what the method holds where it serves as much as the rule; None where that was not
    asked for.
    """

    name: str
    result: BacktestResult
    method_held: HeldAt | None = None


@dataclass(frozen=True, slots=True)
class EqualRule:
    """A rule turned until it serves as much as the method; None = it does not get there.

    ``turned_to`` says how far in words.
    """

    name: str
    turned_to: str
    held: HeldAt | None


@dataclass(frozen=True, slots=True)
class BacktestAnswer:
    """The rules side by side, what other rules must hold to serve as much, and what was played."""

    location: str | None
    as_of: date
    parts: int
    months: int
    counted_months: int
    lead_months: int
    rules: tuple[PlayedRule, ...]
    equal: tuple[EqualRule, ...]


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
    demands = list(iterate_method_demand(parts, setup))
    method = [MonthLevels(tuple([compute_level(d, question.service) for d in row])) for row in demands]
    rules = [("this method", method)]
    rules += [
        (
            f"order up to {cover:g} month{'' if cover == 1 else 's'} of the mean",
            list_cover_levels(parts, setup, months_of_cover=cover),
        )
        for cover in COVERS
    ]
    today = [item.line.target.level or 0 for item in shelf.judge(played)]
    rules.append(("the levels of today, never changed", list_fixed_levels(today, parts, setup)))
    results = [PlayedRule(name, run_backtest(parts, setup, levels=levels)) for name, levels in rules]
    own = turn_service(demands)
    results[1:] = [_hold_method_against(rule, parts, setup, own) for rule in results[1:]]
    return BacktestAnswer(
        location=shelf.scope.location,
        as_of=question.as_of,
        parts=len(parts),
        months=count,
        counted_months=count - setup.first_counted_month,
        lead_months=lead,
        rules=tuple(results),
        equal=_list_equal_rules(parts, setup, today=today, fill_rate=results[0].result.fill_rate),
    )


def _hold_method_against(
    rule: PlayedRule, parts: list[BacktestPart], setup: BacktestSetup, own: Knob
) -> PlayedRule:
    """The rule with what the method holds at the same fill rate; not where no shop would want that rate."""
    fill_rate = rule.result.fill_rate
    if fill_rate is None or fill_rate < LOWEST_COMPARED:
        return rule
    held = find_held_at(parts, setup, knob=own, most=1.0, fill_rate=fill_rate)
    return replace(rule, method_held=held)


def _list_equal_rules(
    parts: list[BacktestPart], setup: BacktestSetup, *, today: list[int], fill_rate: float | None
) -> tuple[EqualRule, ...]:
    """Simple rules, each turned until it serves as much as the method did."""
    if not fill_rate:
        return ()
    rules = (
        ("order up to k months of the mean", "k = {:.1f}", turn_cover(parts, setup), MOST_COVER),
        (
            "order under k months of the mean, up to 2 k",
            "k = {:.1f}",
            turn_cover(parts, setup, is_min_max=True),
            MOST_COVER,
        ),
        (
            "the levels of today, all multiplied alike",
            "times {:.1f}",
            turn_fixed(today, parts, setup),
            MOST_FACTOR,
        ),
    )
    found = []
    for name, words, knob, most in rules:
        held = find_held_at(parts, setup, knob=knob, most=most, fill_rate=fill_rate)
        found.append(EqualRule(name, words.format(held.turn if held else most), held))
    return tuple(found)


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
