"""Rate and spread of a part and of its part type."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.rules.reorder.demand_rate import (
    NO_HISTORY,
    DemandSums,
    PartTypePrior,
    compute_demand_over,
    compute_demand_rate,
    compute_demand_sums,
    fit_part_type_prior,
)


def test_sums_weigh_the_last_month_fully_and_older_ones_less():
    # Worked out by hand: weights 0.25, 0.5, 1; the middle month was half out of stock.
    sums = compute_demand_sums([4, 2, 3], [1.0, 0.5, 1.0], decay=0.5)
    assert sums == DemandSums(pieces=5.0, exposure_months=1.5, squares=17.0, months=1.75)


def test_month_before_the_part_was_on_sale_tells_nothing():
    launched = compute_demand_sums([0, 0, 2], [0.0, 0.0, 1.0])
    assert launched == DemandSums(2.0, 1.0, 4.0, 1.0)


def test_history_and_exposure_of_different_length_are_refused():
    with pytest.raises(BadInput, match="history of 2 months".replace("history", "History")):
        compute_demand_sums([1, 2], [1.0])


def fit_by_numpy(rows):
    """The two passes written a second time with numpy's own least squares, as an outside check."""
    x, n, s2, c = np.array(rows).T

    def fit_rate(phi):
        m0, u = x.sum() / n.sum(), n / n.sum()
        spread, noise = (u * (x / n - m0) ** 2).sum(), (u * phi * m0 / n).sum()
        between = max(spread - noise, 0.05 * m0**2, 1e-6)
        return max(m0, 0.02 / 12), float(np.clip(phi.mean() * m0 / between, 0.05, 24))

    mu, b = fit_rate(np.full(len(x), 1.3))
    m = (b * mu + x) / (b + n)
    residual = (s2 - 2 * m * x + m**2 * n) / m
    slope, base = np.polyfit(m, residual / c, 1, w=np.sqrt(c) / (1 + m))
    a, slope = max(base, 1.0), max(slope, 0.0)
    phi = np.maximum(1.0, (12 * (a + slope * m) + residual) / (12 + c))
    return (*fit_rate(phi), a, slope)


def test_prior_of_the_synthetic_set_equals_numpy(synthetic_demand):
    by_type = {}
    for part_type, months in synthetic_demand:
        exposure = [0.0 if pieces is None else 1.0 for pieces in months]
        sums = compute_demand_sums([pieces or 0 for pieces in months], exposure)
        by_type.setdefault(part_type, []).append(sums)
    assert len(by_type) == 12
    for parts in by_type.values():
        rows = [(p.pieces, p.exposure_months, p.squares, p.months) for p in parts]
        prior = fit_part_type_prior(parts)
        got = (prior.rate_per_month, prior.borrowed_months, prior.dispersion_base, prior.dispersion_slope)
        assert got == pytest.approx(fit_by_numpy(rows), rel=1e-6)
        assert prior.part_count == len(parts)


def test_fewer_than_three_parts_borrow_one_month():
    # Worked out by hand: (4 + 0.1) / (19 + 1).
    prior = fit_part_type_prior(
        [DemandSums(3.0, 9.0, 5.0, 9.0), DemandSums(1.0, 10.0, 1.0, 10.0), NO_HISTORY]
    )
    assert prior == PartTypePrior(pytest.approx(0.205), 1.0, 1.3, 0.05, 2)


def test_part_type_without_parts_still_has_a_small_rate():
    assert fit_part_type_prior([]) == PartTypePrior(pytest.approx(0.1), 1.0, 1.3, 0.05, 0)


def test_part_type_that_never_sold_keeps_the_lowest_rate():
    prior = fit_part_type_prior([DemandSums(0.0, 9.0, 0.0, 9.0)] * 5)
    assert prior.rate_per_month == pytest.approx(0.02 / 12)
    assert compute_demand_rate(NO_HISTORY, prior).rate_per_month == pytest.approx(0.02 / 12)


def test_parts_that_all_sell_alike_show_no_slope():
    prior = fit_part_type_prior([DemandSums(4.0, 8.0, 6.0, 8.0)] * 4)
    assert prior.dispersion_slope == 0.0
    assert prior.dispersion_base == 1.0


def test_no_history_is_the_part_type_alone():
    rate = compute_demand_rate(NO_HISTORY, PartTypePrior(0.6, 0.8, 1.1, 0.1, 9))
    assert (rate.rate_per_month, rate.share_borrowed) == (pytest.approx(0.6), 1.0)


SUMS = st.tuples(st.integers(0, 60), st.floats(0.5, 10)).map(
    lambda t: DemandSums(float(t[0]), t[1], t[0] ** 2 / t[1], t[1])
)


@given(st.lists(SUMS, max_size=12))
def test_rate_lies_between_own_history_and_part_type(parts):
    prior = fit_part_type_prior(parts)
    for part in parts:
        rate = compute_demand_rate(part, prior)
        low, high = sorted((part.pieces / part.exposure_months, prior.rate_per_month))
        assert low - 1e-9 <= rate.rate_per_month <= high + 1e-9
        assert rate.dispersion >= 1.0
        demand = compute_demand_over(rate, 1.5)
        assert demand.variance >= demand.mean > 0.0
