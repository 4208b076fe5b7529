"""Remaining distance from readings. Expected figures: scipy.stats, or bounds worked by hand."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from kb.errors import BadInput
from kb.mechanics.wear import WearMethod, bound_two_readings, forecast_wear
from kb.mechanics.wear_bounds import WearUncertainty, bound_wear
from kb.mechanics.wear_line import project_line
from kb.mechanics.wear_reading import (
    WearReading,
    WearState,
    check_readings,
    is_far_projection,
    list_growing_readings,
)
from kb.mechanics.wear_robust import project_robust

METAL = WearUncertainty(0.2, 0.05)
SIZES = st.lists(st.integers(1500, 1800), min_size=3, max_size=12)


def series(*sizes_mm: float, step_km: float = 1000.0) -> list[WearReading]:
    return [WearReading(step_km * place, size) for place, size in enumerate(sizes_mm)]


def test_exact_line_needs_no_interval() -> None:
    """0.1 mm per 1000 km; 17.7 mm now and 1.2 mm above the limit last 12 000 km, four times what was seen."""
    answer = project_line(series(18.0, 17.9, 17.8, 17.7), 16.5)
    assert answer.remaining_km == pytest.approx(12_000.0)
    assert answer.low_km == pytest.approx(12_000.0)
    assert answer.high_km == pytest.approx(12_000.0)
    assert answer.is_far
    assert answer.state is WearState.PROJECTED


@pytest.mark.parametrize(("limit", "is_far"), [(17.11, False), (17.09, True)])
def test_more_than_twice_the_observed_span_is_far(limit: float, is_far: bool) -> None:
    """0.1 mm per 1000 km over 3000 km: 0.6 mm of room last twice the span."""
    assert project_line(series(18.0, 17.9, 17.8, 17.7), limit).is_far is is_far


def test_nothing_told_is_not_far() -> None:
    assert not is_far_projection(series(18.0, 17.9), None)


@given(SIZES)
def test_line_and_its_proof_agree_with_scipy(hundredths: list[int]) -> None:
    """Source: scipy.stats.linregress; wear is proven if the 90 % interval of the slope is below zero."""
    assume(len(set(hundredths)) > 1)
    sizes = [value / 100.0 for value in hundredths]
    distances = [1000.0 * place for place in range(len(sizes))]
    fit = stats.linregress(distances, sizes)
    answer = project_line(series(*sizes), 10.0)
    assert answer.rate_mm_per_km == pytest.approx(fit.slope, abs=1e-12)
    upper = fit.slope + stats.t.ppf(0.95, len(sizes) - 2) * fit.stderr
    assert answer.rate_slow_mm_per_km == pytest.approx(upper, abs=1e-9)
    if abs(upper) > 1e-9:
        assert (answer.state is WearState.PROJECTED) == (upper < 0.0)
    if answer.state is WearState.PROJECTED:
        assert answer.low_km is not None
        assert answer.remaining_km is not None
        assert answer.high_km is not None
        assert answer.low_km <= answer.remaining_km <= answer.high_km


@given(SIZES, st.sampled_from([0.8, 0.9, 0.95]))
def test_robust_slope_and_interval_agree_with_scipy(hundredths: list[int], confidence: float) -> None:
    """Source: scipy.stats.theilslopes, which corrects for ties in the same way."""
    assume(len(set(hundredths)) > 1)
    sizes = [value / 100.0 for value in hundredths]
    fit = stats.theilslopes(sizes, [1000.0 * place for place in range(len(sizes))], alpha=confidence)
    answer = project_robust(series(*sizes), 10.0, confidence=confidence)
    assert answer.rate_mm_per_km == pytest.approx(fit.slope, abs=1e-12)
    assert answer.rate_fast_mm_per_km == pytest.approx(fit.low_slope, abs=1e-12)
    assert answer.rate_slow_mm_per_km == pytest.approx(fit.high_slope, abs=1e-12)


def test_pairs_at_one_distance_are_left_out() -> None:
    """Source: scipy.stats.theilslopes with a repeated distance."""
    readings = [
        WearReading(0.0, 18.0),
        WearReading(0.0, 17.9),
        WearReading(2000.0, 17.6),
        WearReading(4000.0, 17.1),
    ]
    fit = stats.theilslopes([18.0, 17.9, 17.6, 17.1], [0.0, 0.0, 2000.0, 4000.0], alpha=0.9)
    answer = project_robust(readings, 16.5)
    assert answer.rate_mm_per_km == pytest.approx(fit.slope)
    assert np.isclose(answer.rate_fast_mm_per_km, fit.low_slope)


def test_readings_that_never_change_prove_no_wear() -> None:
    for project in (project_line, project_robust):
        answer = project(series(18.0, 18.0, 18.0), 16.5)
        assert answer.state is WearState.NO_PROVEN_WEAR
        assert (answer.remaining_km, answer.low_km, answer.high_km) == (None, None, None)


@pytest.mark.parametrize(
    ("last", "state"),
    [(16.51, WearState.PROJECTED), (16.5, WearState.PROJECTED), (16.49, WearState.BELOW_LIMIT)],
)
def test_nothing_remains_below_the_limit(last: float, state: WearState) -> None:
    for project in (project_line, project_robust):
        answer = project(series(17.5, 17.0, last), 16.5)
        assert answer.state is state
        assert answer.remaining_km == pytest.approx(0.0, abs=25.0)


def test_robust_upper_end_is_told_when_every_slope_is_a_loss() -> None:
    answer = project_robust(series(18.0, 17.8, 17.7, 17.5), 16.5)
    assert answer.high_km is not None
    assert answer.low_km is not None
    assert answer.remaining_km is not None
    assert answer.low_km <= answer.remaining_km <= answer.high_km


def test_line_is_preferred_when_both_agree() -> None:
    forecast = forecast_wear(series(18.0, 17.7, 17.35, 17.1, 16.7), 16.2)
    assert forecast.preferred is WearMethod.LINE
    assert forecast.answer is forecast.line


def test_robust_is_preferred_when_one_reading_is_odd() -> None:
    """Steady loss of 0.1 mm per 1000 km with one reading 1 mm too low near the end."""
    sizes = [18.0 - 0.1 * place for place in range(20)]
    sizes[18] -= 1.0
    forecast = forecast_wear(series(*sizes), 15.0)
    assert forecast.robust.remaining_km == pytest.approx(11_000.0, rel=1e-6)
    assert forecast.preferred is WearMethod.ROBUST
    assert forecast.answer is forecast.robust


def test_line_stays_preferred_when_it_proves_nothing() -> None:
    """One gross misreading: the line tells nothing, and so does the answer, until it is measured again."""
    forecast = forecast_wear(series(18.0, 17.8, 14.7, 17.4, 17.2, 17.0, step_km=1500.0), 16.5)
    assert forecast.robust.remaining_km is not None
    assert forecast.preferred is WearMethod.LINE
    assert forecast.answer.remaining_km is None


@pytest.mark.parametrize(
    ("size", "distance", "state", "wanted"),
    [
        (17.0, 9000.0, WearState.PROJECTED, (3240.0, 4500.0, 6600.0)),
        (17.75, 9000.0, WearState.PROJECTED, (21_600.0, 45_000.0, None)),
        (18.0, 9000.0, WearState.NO_PROVEN_WEAR, (52_200.0, None, None)),
        (18.5, 9000.0, WearState.NO_PROVEN_WEAR, (None, None, None)),
        (17.0, None, WearState.NO_RATE, (None, None, None)),
        (16.5, 9000.0, WearState.PROJECTED, (0.0, 0.0, 360.0)),
        (16.49, 9000.0, WearState.BELOW_LIMIT, (0.0, 0.0, 0.0)),
        (16.49, None, WearState.BELOW_LIMIT, (0.0, 0.0, 0.0)),
    ],
)
def test_bounds_from_one_reading(
    size: float, distance: float | None, state: WearState, wanted: tuple[float | None, ...]
) -> None:
    """New 18.0 ± 0.2 mm, reading ± 0.05 mm, limit 16.5 mm: corner cases worked by hand."""
    bounds = bound_wear(18.0, size, limit_mm=16.5, distance_km=distance, uncertainty=METAL)
    assert bounds.state is state
    assert bounds.room_mm == pytest.approx(size - 16.5)
    for got, value in zip((bounds.low_km, bounds.remaining_km, bounds.high_km), wanted, strict=True):
        assert got == (None if value is None else pytest.approx(value, rel=1e-6, abs=1e-6))


def test_measure_again_when_wear_should_exceed_three_uncertainties() -> None:
    bounds = bound_wear(18.0, 17.0, limit_mm=16.5, distance_km=None)
    assert bounds.remeasure_wear_mm == pytest.approx(0.3)


def test_two_readings_bound_the_distance() -> None:
    """1.0 mm in 5000 km, ± 0.1 mm each: 0.4/1.2, 0.5/1.0 and 0.6/0.8 of 5000 km."""
    bounds = bound_two_readings(series(18.0, 17.0, step_km=5000.0), 16.5)
    assert bounds.low_km == pytest.approx(5000.0 * 0.4 / 1.2)
    assert bounds.remaining_km == pytest.approx(2500.0)
    assert bounds.high_km == pytest.approx(5000.0 * 0.6 / 0.8)


def test_absurd_uncertainty_or_distance_is_refused() -> None:
    with pytest.raises(BadInput):
        WearUncertainty(-0.1, 0.1)
    with pytest.raises(BadInput):
        bound_wear(18.0, 17.0, limit_mm=16.5, distance_km=0.0)


@pytest.mark.parametrize(
    ("readings", "problem"),
    [
        (series(18.0, 17.9), "fewer than 3"),
        (series(18.0, 17.9, 17.8)[::-1], "does not fall"),
        (series(18.0, 17.9, 17.8, step_km=0.0), "that of every reading"),
    ],
)
def test_readings_that_are_no_series_are_refused(readings: list[WearReading], problem: str) -> None:
    for project in (project_line, project_robust, forecast_wear):
        with pytest.raises(BadInput, match=problem):
            project(readings, 16.5)


def test_two_readings_are_enough_for_bounds() -> None:
    check_readings(series(18.0, 17.9), 2)
    with pytest.raises(BadInput):
        bound_two_readings(series(18.0), 16.5)


@pytest.mark.parametrize(("second", "grown"), [(17.2, ()), (17.21, (1,)), (16.9, ())])
def test_growth_beyond_twice_the_uncertainty_is_told(second: float, grown: tuple[int, ...]) -> None:
    """0.1 mm on rubber, judgement of this project."""
    assert list_growing_readings(series(17.0, second)) == grown
