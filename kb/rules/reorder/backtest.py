"""What a way of setting levels would have done in the past: fill rate, pieces held, money.

Month by month: order up to the level from what was known before the month, receive what is due,
serve the month's demand from the shelf, let the rest wait. Whole months, single pieces.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, fsum

from kb.errors import BadInput
from kb.rules.reorder.demand_rate import (
    compute_demand_over,
    compute_demand_rate,
    compute_demand_sums,
    fit_part_type_prior,
)
from kb.rules.reorder.level import DEFAULT_SERVICE, compute_level
from kb.rules.reorder.negative_binomial import Demand
from kb.rules.reorder.season import FLAT_SEASON, compute_exposure_of_months, compute_season_index

_NO_DEMAND = Demand(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class BacktestPart:
    """History of a part, oldest month first, None where it was not on sale; cost of a piece."""

    part_type: str
    pieces_by_month: tuple[int | None, ...]
    unit_cost_minor: int = 0


@dataclass(frozen=True, slots=True)
class BacktestSetup:
    """First month that is played, how many months a supplier takes, and what month the histories start in.

    The first ``lead_months + 1`` months played are not counted: the shelf starts full. Where the
    histories start in a known calendar month (1 … 12), each part type has its season; None = no season.
    """

    first_month: int = 24
    lead_months: int = 1
    first_calendar_month: int | None = None

    @property
    def first_counted_month(self) -> int:
        """First month whose demand and stock count."""
        return self.first_month + self.lead_months + 1


@dataclass(frozen=True, slots=True)
class MonthLevels:
    """For one month, the level of each part, and the position under which it is ordered (None = level)."""

    up_to: tuple[int, ...]
    order_under: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True)
class BacktestResult:
    """What came of it; the figures held are means of the month ends."""

    pieces_asked: int
    pieces_served: int
    mean_pieces_held: float
    mean_value_held_minor: float
    order_lines: int

    @property
    def fill_rate(self) -> float | None:
        """Share of the pieces asked for that came from the shelf at once; None when none was asked for."""
        return self.pieces_served / self.pieces_asked if self.pieces_asked else None


def iterate_method_demand(parts: Sequence[BacktestPart], setup: BacktestSetup) -> Iterator[list[Demand]]:
    """Demand of each part over the protection time, for each month played, from the months before it."""
    months = _count_months(parts, setup)
    by_type: dict[str, list[int]] = {}
    for column, part in enumerate(parts):
        by_type.setdefault(part.part_type, []).append(column)
    for month in range(setup.first_month, months):
        demands = [_NO_DEMAND] * len(parts)
        for columns in by_type.values():
            group = [parts[column].pieces_by_month[:month] for column in columns]
            for column, demand in zip(columns, _compute_type_demands(group, setup), strict=True):
                demands[column] = demand
        yield demands


def list_method_levels(
    parts: Sequence[BacktestPart], setup: BacktestSetup, *, service: float = DEFAULT_SERVICE
) -> list[MonthLevels]:
    """Levels of this program's method for each month played."""
    return [
        MonthLevels(tuple(compute_level(demand, service) for demand in demands))
        for demands in iterate_method_demand(parts, setup)
    ]


def list_cover_levels(
    parts: Sequence[BacktestPart], setup: BacktestSetup, *, months_of_cover: float
) -> list[MonthLevels]:
    """Levels of the hand rule "order up to so many months of the last twelve months' mean"."""
    means = compute_year_means(parts, setup)
    return [MonthLevels(tuple(ceil(months_of_cover * mean) for mean in row)) for row in means]


def compute_year_means(parts: Sequence[BacktestPart], setup: BacktestSetup) -> list[list[float]]:
    """For each month played, the mean of the twelve months before it, part by part."""
    months = _count_months(parts, setup)
    return [[_compute_year_mean(part, month) for part in parts] for month in range(setup.first_month, months)]


def list_fixed_levels(
    levels: Sequence[int], parts: Sequence[BacktestPart], setup: BacktestSetup
) -> list[MonthLevels]:
    """Levels set by hand once and left."""
    months = _count_months(parts, setup)
    return [MonthLevels(tuple(levels))] * (months - setup.first_month)


def run_backtest(
    parts: Sequence[BacktestPart], setup: BacktestSetup, *, levels: Sequence[MonthLevels]
) -> BacktestResult:
    """Play the levels against the history.

    Args:
        parts: histories of equal length.
        setup: first month played, lead time in months.
        levels: one entry for each month played, with a level for each part.

    Raises:
        BadInput: histories of unequal length, too short ones, or a wrong number of levels.
    """
    months = _count_months(parts, setup)
    if len(levels) != months - setup.first_month or any(len(row.up_to) != len(parts) for row in levels):
        message = (
            f"Levels for {len(levels)} months do not belong to a history of {months} months played from "
            f"month {setup.first_month} on; give a level for each part in each month played."
        )
        raise BadInput(message, field="levels")
    runs = [_play_part(part, setup, levels=levels, column=k) for k, part in enumerate(parts)]
    counted = months - setup.first_counted_month
    return BacktestResult(
        pieces_asked=sum(run.asked for run in runs),
        pieces_served=sum(run.served for run in runs),
        mean_pieces_held=sum(run.held for run in runs) / counted,
        mean_value_held_minor=sum(
            run.held * part.unit_cost_minor for run, part in zip(runs, parts, strict=True)
        )
        / counted,
        order_lines=sum(run.lines for run in runs),
    )


@dataclass(frozen=True, slots=True)
class _PartRun:
    asked: int
    served: int
    held: int
    lines: int


def _play_part(
    part: BacktestPart, setup: BacktestSetup, *, levels: Sequence[MonthLevels], column: int
) -> _PartRun:
    on_hand, waiting, pipeline = levels[0].up_to[column], 0, deque([0] * setup.lead_months)
    asked = served = held = lines = 0
    for month, row in enumerate(levels, start=setup.first_month):
        is_counted = month >= setup.first_counted_month
        position = on_hand + sum(pipeline) - waiting
        level = row.up_to[column]
        under = level if row.order_under is None else row.order_under[column]
        ordered = level - position if position < under else 0
        pipeline.append(max(ordered, 0))
        arrived = on_hand + pipeline.popleft()
        on_hand, waiting = max(arrived - waiting, 0), max(waiting - arrived, 0)
        pieces = part.pieces_by_month[month] or 0
        from_shelf = min(on_hand, pieces)
        on_hand, waiting = on_hand - from_shelf, waiting + pieces - from_shelf
        if is_counted:
            asked, served, held, lines = (
                asked + pieces,
                served + from_shelf,
                held + on_hand,
                lines + (ordered > 0),
            )
    return _PartRun(asked, served, held, lines)


def _count_months(parts: Sequence[BacktestPart], setup: BacktestSetup) -> int:
    lengths = {len(part.pieces_by_month) for part in parts}
    if len(lengths) != 1 or max(lengths) <= setup.first_counted_month:
        message = (
            f"Histories of {sorted(lengths)} months cannot be played; give parts with histories of one "
            f"length, longer than {setup.first_counted_month} months."
        )
        raise BadInput(message, field="parts")
    return lengths.pop()


def _compute_type_demands(histories: Sequence[Sequence[int | None]], setup: BacktestSetup) -> list[Demand]:
    """Demand over the protection time of the parts of one type, from histories that end today."""
    months = len(histories[0])
    season, first = FLAT_SEASON, setup.first_calendar_month or 1
    if setup.first_calendar_month is not None:
        totals = [sum(history[k] or 0 for history in histories) for k in range(months)]
        season = compute_season_index(totals, first)
    factors = [season.factors[(first - 1 + k) % 12] for k in range(months)]
    sums = [
        compute_demand_sums(
            [pieces or 0 for pieces in history],
            [factor if pieces is not None else 0.0 for pieces, factor in zip(history, factors, strict=True)],
        )
        for history in histories
    ]
    prior = fit_part_type_prior(sums)
    coming_month = (first - 1 + months) % 12 + 1
    ahead = compute_exposure_of_months(season, coming_month, months=setup.lead_months + 1.0)
    return [compute_demand_over(compute_demand_rate(known, prior), ahead) for known in sums]


def _compute_year_mean(part: BacktestPart, month: int) -> float:
    """Mean of the up to twelve months on sale before a month; 0 before the part was on sale."""
    known = [pieces for pieces in part.pieces_by_month[max(month - 12, 0) : month] if pieces is not None]
    return fsum(known) / len(known) if known else 0.0
