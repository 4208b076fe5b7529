"""Quantile, probability and expected shortage against scipy's nbinom and poisson."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.errors import BadInput
from kb.rules.reorder.negative_binomial import (
    Demand,
    compute_expected_short,
    compute_probability_at_most,
    compute_quantile,
    list_cumulative,
)

MEANS = [0.02, 0.3, 1.0, 4.7, 26.0, 140.0]
RATIOS = [0.8, 1.0, 1.05, 1.5, 3.0, 9.0]
SERVICES = [0.5, 0.9, 0.95, 0.99, 0.9995]


def as_scipy(mean, variance):
    if variance <= mean:
        return stats.poisson(mean)
    return stats.nbinom(mean**2 / (variance - mean), mean / variance)


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("ratio", RATIOS)
def test_quantile_equals_scipy(mean, ratio):
    reference = as_scipy(mean, ratio * mean)
    for service in SERVICES:
        assert compute_quantile(Demand(mean, ratio * mean), service) == int(reference.ppf(service))


@pytest.mark.parametrize("mean", [*MEANS, 3000.0])
@pytest.mark.parametrize("ratio", RATIOS)
def test_probability_and_shortage_equal_scipy(mean, ratio):
    demand, reference = Demand(mean, ratio * mean), as_scipy(mean, ratio * mean)
    for level in (0, 1, int(mean), int(1.3 * mean) + 2):
        assert compute_probability_at_most(demand, level) == pytest.approx(reference.cdf(level), abs=1e-9)
        # E[(D - T)+] = mean - T + Σ_{k<T} F(k), the loss function in its other form.
        below = sum(reference.cdf(k) for k in range(level)) if mean < 200 else None
        if below is not None:
            assert compute_expected_short(demand, level) == pytest.approx(mean - level + below, abs=1e-8)


@pytest.mark.parametrize("mean", [620.0, 1500.0, 5000.0])
@pytest.mark.parametrize("ratio", [1.0, 1.2, 3.0])
def test_approximate_quantile_is_within_one_piece_or_a_seventh_of_a_percent(mean, ratio):
    reference = as_scipy(mean, ratio * mean)
    for service in (0.9, 0.95, 0.99):
        exact = reference.ppf(service)
        assert abs(compute_quantile(Demand(mean, ratio * mean), service) - exact) <= max(1, 0.0015 * exact)


def test_probability_of_very_large_spread_demand_equals_scipy():
    # Starts above 0: p(0) is too small for a float, although the demand reaches far down.
    demand = Demand(20_000.0, 2_000_000.0)
    assert compute_probability_at_most(demand, 18_000) == pytest.approx(
        as_scipy(20_000.0, 2_000_000.0).cdf(18_000), abs=1e-9
    )


def test_level_below_zero_is_short_by_itself():
    assert compute_expected_short(Demand(2.0, 3.0), -3) == 5.0
    assert compute_probability_at_most(Demand(2.0, 3.0), -1) == 0.0


def test_cumulative_over_a_range_that_starts_below_zero():
    assert list_cumulative(Demand(0.0, 0.0), -2, last=1) == [0.0, 0.0, 1.0, 1.0]
    assert list_cumulative(Demand(1.0, 1.0), -3, last=-2) == [0.0, 0.0]


def test_no_demand_needs_no_stock():
    assert compute_quantile(Demand(0.0, 0.0), 0.99) == 0
    assert compute_expected_short(Demand(0.0, 0.0), 3) == 0.0


@pytest.mark.parametrize("service", [0.0, -0.1, 0.99991, 1.0, float("nan")])
def test_unusable_service_is_refused(service):
    with pytest.raises(BadInput, match="write a share above 0"):
        compute_quantile(Demand(1.0, 1.0), service)


@given(
    mean=st.floats(0.001, 300),
    ratio=st.floats(0.5, 8),
    low=st.floats(0.01, 0.9999),
    high=st.floats(0.01, 0.9999),
)
def test_level_never_falls_with_the_service(mean, ratio, low, high):
    low, high = sorted((low, high))
    demand = Demand(mean, ratio * mean)
    assert compute_quantile(demand, low) <= compute_quantile(demand, high)


@given(
    first=st.floats(0.001, 300),
    second=st.floats(0.001, 300),
    ratio=st.floats(0.5, 8),
    service=st.floats(0.01, 0.9999),
)
def test_level_never_falls_with_the_mean(first, second, ratio, service):
    less, more = sorted((first, second))
    low = compute_quantile(Demand(less, ratio * less), service)
    assert low <= compute_quantile(Demand(more, ratio * more), service)


@given(mean=st.floats(0.01, 80), ratio=st.floats(1, 5), level=st.integers(0, 200))
def test_shortage_falls_with_the_level_but_by_at_most_a_piece(mean, ratio, level):
    demand = Demand(mean, ratio * mean)
    gain = compute_expected_short(demand, level) - compute_expected_short(demand, level + 1)
    assert -1e-9 <= gain <= 1.0
