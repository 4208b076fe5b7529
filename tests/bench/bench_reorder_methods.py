"""Pieces held at equal fill rate: this program's levels against published forecasts and hand rules.

Run: python tests/bench/bench_reorder_methods.py CSV [--lead 1 2 3] [--fill 0.90 0.95]

CSV: one series a row, the name in the first column, then pieces by month; series with an empty cell
are left out. Meant for the open set of monthly car-parts sales 1998-2002 (R package expsmooth, data
object carparts, GPL-3), which is not part of this repository.

Each policy has one knob (the probability asked for, or the months of cover). For each lead time the
knob is turned until the fill rate asked for is just reached; printed are the pieces then held,
relative to this program's method. "-" = not reached with the knob at its end.
"""

import argparse
import csv
import statistics
import sys
import time
from collections.abc import Callable
from math import ceil
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import reorder_baselines as baselines  # noqa: E402  found through the path set above

from kb.rules.reorder.backtest import (  # noqa: E402
    BacktestPart,
    BacktestResult,
    BacktestSetup,
    MonthLevels,
    iterate_method_demand,
    list_cover_levels,
    list_fixed_levels,
    list_method_levels,
    run_backtest,
)
from kb.rules.reorder.demand_rate import (  # noqa: E402
    compute_demand_over,
    compute_demand_rate,
    compute_demand_sums,
    fit_part_type_prior,
)
from kb.rules.reorder.level import compute_level  # noqa: E402
from kb.rules.reorder.negative_binomial import Demand, compute_quantile  # noqa: E402

HIGHEST_SERVICE = 0.9995
LONGEST_COVER_MONTHS = 30.0
# Halvings of the knob's range; the pieces held are then read between the two ends.
HALVINGS = 9

Levels = list[MonthLevels]
Knob = Callable[[float], Levels]


def read_parts(path: Path) -> list[BacktestPart]:
    """Complete series of the file, all of one part type."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return [
        BacktestPart("car_part", tuple(int(cell) for cell in row[1:]), 100) for row in rows if all(row[1:])
    ]


def turn_service(demands: list[list[Demand]], least: int = 0) -> Knob:
    """Levels as a function of the knob 0 … 1, read as a probability 0.5 … 0.9995."""

    def list_levels(knob: float) -> Levels:
        # Equal steps in the odds: the far tail needs finer steps than the middle.
        shortage = 0.5 * (2.0 * (1.0 - HIGHEST_SERVICE)) ** knob
        return [
            MonthLevels(tuple(max(compute_quantile(demand, 1.0 - shortage), least) for demand in row))
            for row in demands
        ]

    return list_levels


def forecast_demands(
    parts: list[BacktestPart],
    setup: BacktestSetup,
    *,
    forecast: Callable[..., float],
    spread: Callable[..., float] = baselines.smooth_month_variance,
    window: int | None = None,
) -> list[list[Demand]]:
    """A forecast of the mean with a variance of the months seen, over the protection time."""
    months, horizon = len(parts[0].pieces_by_month), setup.lead_months + 1
    rows = []
    for month in range(setup.first_month, months):
        first = 0 if window is None else max(month - window, 0)
        seen = [part.pieces_by_month[first:month] for part in parts]
        rows.append([Demand(horizon * forecast(h), horizon * spread(h)) for h in seen])
    return rows


def turn_min_max(parts: list[BacktestPart], setup: BacktestSetup) -> Knob:
    """The hand rule "min k months, max 2 k months" of the last twelve months' mean."""

    def list_levels(knob: float) -> Levels:
        cover = knob * LONGEST_COVER_MONTHS
        least = list_cover_levels(parts, setup, months_of_cover=cover)
        most = list_cover_levels(parts, setup, months_of_cover=2.0 * cover)
        return [MonthLevels(high.up_to, low.up_to) for low, high in zip(least, most, strict=True)]

    return list_levels


def turn_fixed(parts: list[BacktestPart], setup: BacktestSetup) -> Knob:
    """Levels set once from the mean of the months before the first one played, and left."""
    means = [statistics.fmean(part.pieces_by_month[: setup.first_month]) for part in parts]

    def list_levels(knob: float) -> Levels:
        levels = [ceil(knob * LONGEST_COVER_MONTHS * mean) for mean in means]
        return list_fixed_levels(levels, parts, setup)

    return list_levels


def list_policies(parts: list[BacktestPart], setup: BacktestSetup) -> dict[str, Knob]:
    """Every policy compared, the program's own first."""

    def mean(history: tuple[int, ...]) -> float:
        return statistics.fmean(history)

    def smooth(history: tuple[int, ...]) -> float:
        return baselines.smooth_exponentially(history, 0.1)

    def turn_forecast(forecast: Callable[..., float], least: int = 0) -> Knob:
        return turn_service(forecast_demands(parts, setup, forecast=forecast), least)

    year = forecast_demands(parts, setup, forecast=mean, spread=baselines.compute_month_variance, window=12)
    own = list(iterate_method_demand(parts, setup))
    return {
        "this program": turn_service(own),
        "same rate, Poisson": turn_service([[Demand(d.mean, d.mean) for d in row] for row in own]),
        "SBA + negative binomial": turn_forecast(baselines.forecast_sba),
        "TSB + negative binomial": turn_forecast(baselines.forecast_tsb),
        "ADIDA + negative binomial": turn_forecast(baselines.forecast_adida),
        "ADIDA + negative binomial, at least 1": turn_forecast(baselines.forecast_adida, 1),
        "smoothing + negative binomial": turn_forecast(smooth),
        "12-month mean, variance, negative binomial": turn_service(year),
        "12-month mean, Poisson": turn_service([[Demand(d.mean, d.mean) for d in row] for row in year]),
        "order up to k months of the 12-month mean": lambda knob: list_cover_levels(
            parts, setup, months_of_cover=knob * LONGEST_COVER_MONTHS
        ),
        "min k months, max 2 k months": turn_min_max(parts, setup),
        "fixed at k months of the first mean": turn_fixed(parts, setup),
    }


def find_pieces_held(
    parts: list[BacktestPart], setup: BacktestSetup, *, knob: Knob, fill_rate: float
) -> float | None:
    """Pieces held where the fill rate is reached, between the two nearest turns of the knob."""

    def run(turn: float) -> BacktestResult:
        return run_backtest(parts, setup, levels=knob(turn))

    low, high = 0.0, 1.0
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
    share = (fill_rate - (under.fill_rate or 0.0)) / width if width > 0.0 else 1.0
    return under.mean_pieces_held + max(share, 0.0) * (over.mean_pieces_held - under.mean_pieces_held)


def check_against_statsforecast(parts: list[BacktestPart]) -> str:
    """Largest difference between our forecasts and those of the statsforecast package, if it is there."""
    try:
        import numpy as np
        from statsforecast.models import ADIDA, TSB, CrostonClassic, CrostonSBA
    except ImportError:
        return "statsforecast is not installed: the baselines were not checked against it"
    models = {
        "Croston": (CrostonClassic(), baselines.forecast_croston),
        "SBA": (CrostonSBA(), baselines.forecast_sba),
        "TSB": (TSB(alpha_d=0.1, alpha_p=0.1), baselines.forecast_tsb),
        # statsforecast tunes the smoothing of ADIDA's blocks to the series, ours is fixed at 0.1.
        "ADIDA (tuned there, 0.1 here)": (ADIDA(), baselines.forecast_adida),
    }
    words = []
    for name, (model, forecast) in models.items():
        gaps = [
            abs(
                float(model.forecast(np.asarray(part.pieces_by_month, dtype=float), 1)["mean"][0])
                - forecast(part.pieces_by_month)
            )
            for part in parts[:200]
            if any(part.pieces_by_month)
        ]
        words.append(f"{name} {max(gaps):.1e}")
    return "largest difference to statsforecast on 200 series: " + ", ".join(words)


def print_service_table(parts: list[BacktestPart], leads: list[int]) -> None:
    """Fill rate got for each probability asked for, with levels of the product's own door."""
    print("asked  " + "  ".join(f"lead {lead}: fill, held" for lead in leads))
    for service in (0.85, 0.90, 0.95, 0.975, 0.98, 0.99):
        cells = []
        for lead in leads:
            setup = BacktestSetup(24, lead)
            result = run_backtest(parts, setup, levels=list_method_levels(parts, setup, service=service))
            cells.append(f"{result.fill_rate:.3f} {result.mean_pieces_held:8.0f}")
        print(f"{service:5}  " + "  ".join(cells))


def print_speed(parts: list[BacktestPart], count: int = 100_000) -> None:
    """Time of prior, rate and level of many parts from ready sums, the series repeated; 24 part types."""
    sums = [compute_demand_sums(part.pieces_by_month[-36:], [1.0] * 36) for part in parts]
    groups = [[sums[(k * 24 + g) % len(sums)] for k in range(count // 24)] for g in range(24)]
    begin = time.perf_counter()
    for group in groups:
        prior = fit_part_type_prior(group)
        for known in group:
            compute_level(compute_demand_over(compute_demand_rate(known, prior), 1.2), 0.95)
    seconds = time.perf_counter() - begin
    print(f"{count} parts: {seconds:.2f} s, {1e6 * seconds / count:.1f} µs a part")


def main() -> None:
    """Compare and print."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("csv", type=Path)
    arguments.add_argument("--lead", type=int, nargs="+", default=[1, 2, 3])
    arguments.add_argument("--fill", type=float, nargs="+", default=[0.90, 0.95])
    given = arguments.parse_args()
    parts = read_parts(given.csv)
    print(f"{len(parts)} complete series of {len(parts[0].pieces_by_month)} months")
    print(check_against_statsforecast(parts))
    print_speed(parts)
    print_service_table(parts, given.lead)
    ratios: dict[tuple[str, float], list[float | None]] = {}
    for lead in given.lead:
        setup = BacktestSetup(24, lead)
        policies = list_policies(parts, setup)
        for fill_rate in given.fill:
            own = None
            for name, knob in policies.items():
                held = find_pieces_held(parts, setup, knob=knob, fill_rate=fill_rate)
                own = held if own is None else own
                ratio = None if held is None or own is None else held / own
                ratios.setdefault((name, fill_rate), []).append(ratio)
    print("pieces held relative to this program at equal fill rate, by lead time: " + str(given.lead))
    for name in policies:
        cells = []
        for fill_rate in given.fill:
            row = ratios[name, fill_rate]
            each = " ".join("   -" if ratio is None else f"{ratio:4.2f}" for ratio in row)
            reached = [ratio for ratio in row if ratio is not None]
            mean = f"{statistics.fmean(reached):4.2f}" if reached else "   -"
            cells.append(f"fill {fill_rate:.2f}: {each} | mean {mean}")
        print(f"{name:45}" + "   ".join(cells))


if __name__ == "__main__":
    started = time.perf_counter()
    main()
    print(f"{time.perf_counter() - started:.0f} s")
