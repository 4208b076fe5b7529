"""What another rule would have to hold to serve as much: its knob turned until the fill rate is the same.

A rule that serves more and holds more is neither better nor worse; at the same fill rate the pieces tell.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

from kb.rules.reorder.backtest import (
    BacktestPart,
    BacktestResult,
    BacktestSetup,
    MonthLevels,
    compute_year_means,
    list_fixed_levels,
    run_backtest,
)
from kb.rules.reorder.negative_binomial import Demand, compute_quantile

# Levels of a rule for each month played, as a function of its knob.
Knob = Callable[[float], list[MonthLevels]]
# Halvings of the knob's range; the pieces held are then read between the two ends.
HALVINGS = 9
LOWEST_SERVICE, HIGHEST_SERVICE = 0.5, 0.9995


@dataclass(frozen=True, slots=True)
class HeldAt:
    """The turn of a knob that just reaches a fill rate, and what is then held."""

    turn: float
    mean_pieces_held: float
    mean_value_held_minor: float


def turn_service(demands: Sequence[Sequence[Demand]], *, least: int = 0) -> Knob:
    """Levels from forecasts, the knob 0 … 1 being the service asked for, 0.5 … 0.9995.

    Args:
        demands: over the protection time, for each month played and each part.
        least: pieces kept of every part.
    """
    widest = 1.0 - LOWEST_SERVICE

    def list_levels(turn: float) -> list[MonthLevels]:
        # Equal steps in the odds: the far tail needs finer steps than the middle.
        shortage = widest * ((1.0 - HIGHEST_SERVICE) / widest) ** turn
        return [
            MonthLevels(tuple([max(compute_quantile(demand, 1.0 - shortage), least) for demand in row]))
            for row in demands
        ]

    return list_levels


def turn_cover(parts: Sequence[BacktestPart], setup: BacktestSetup, *, is_min_max: bool = False) -> Knob:
    """The hand rule "order up to k months of the last twelve months' mean", its knob being k.

    Args:
        parts: histories of equal length.
        setup: what is played.
        is_min_max: order under k months, up to 2 k months.
    """
    means = compute_year_means(parts, setup)

    def list_levels(cover: float) -> list[MonthLevels]:
        least = [tuple([ceil(cover * mean) for mean in row]) for row in means]
        if not is_min_max:
            return [MonthLevels(row) for row in least]
        most = [tuple([ceil(2.0 * cover * mean) for mean in row]) for row in means]
        return [MonthLevels(high, low) for high, low in zip(most, least, strict=True)]

    return list_levels


def turn_fixed(levels: Sequence[float], parts: Sequence[BacktestPart], setup: BacktestSetup) -> Knob:
    """Levels that stay as they are, all multiplied alike and rounded up, their knob being the factor."""

    def list_levels(factor: float) -> list[MonthLevels]:
        return list_fixed_levels([ceil(factor * level) for level in levels], parts, setup)

    return list_levels


def find_held_at(
    parts: Sequence[BacktestPart],
    setup: BacktestSetup,
    *,
    knob: Knob,
    most: float,
    fill_rate: float,
) -> HeldAt | None:
    """What is held where a rule just reaches a fill rate, read between the two nearest turns of its knob.

    Args:
        parts: histories of equal length.
        setup: what is played.
        knob: a rule that serves more the further it is turned.
        most: the end of the knob; it begins at 0.
        fill_rate: share of the pieces asked for, served from the shelf.

    Returns:
        Turn, pieces and value held; None where the fill rate is not reached at the end of the knob.
    """

    def run(turn: float) -> BacktestResult:
        return run_backtest(parts, setup, levels=knob(turn))

    low, high = 0.0, most
    under, over = run(low), run(high)
    if (over.fill_rate or 0.0) < fill_rate:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        result = run(middle)
        if (result.fill_rate or 0.0) >= fill_rate:
            high, over = middle, result
        else:
            low, under = middle, result
    width = (over.fill_rate or 0.0) - (under.fill_rate or 0.0)
    share = max((fill_rate - (under.fill_rate or 0.0)) / width, 0.0) if width > 0.0 else 1.0

    def read_between(first: float, last: float) -> float:
        return first + share * (last - first)

    return HeldAt(
        read_between(low, high),
        read_between(under.mean_pieces_held, over.mean_pieces_held),
        read_between(under.mean_value_held_minor, over.mean_value_held_minor),
    )
