"""Stock level, reorder point, packs and fill rate."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.errors import BadInput
from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.level import (
    DemandAhead,
    ProtectionTime,
    ServiceKind,
    ServiceTarget,
    compute_demand_ahead,
    compute_fill_rate,
    compute_level,
    compute_level_for_fill_rate,
    compute_stock_level,
)
from kb.rules.reorder.negative_binomial import Demand
from kb.rules.reorder.season import FLAT_SEASON, SeasonIndex

AHEAD = DemandAhead(Demand(1.0, 1.5), Demand(1.5, 2.4))


def test_protection_time_is_review_and_lead_time():
    assert ProtectionTime(9).days == 16
    rate = DemandRate(2.0, 1.5, 6.0, 2.0)
    ahead = compute_demand_ahead(rate, ProtectionTime(15, 15), season=FLAT_SEASON, today=date(2026, 4, 1))
    # April has 30 days: half a month and a whole one; variance 1.5 · 2 · (1 + 1/8).
    assert ahead.lead_time.mean == pytest.approx(1.0)
    assert ahead.protection == Demand(pytest.approx(2.0), pytest.approx(3.375))


def test_unsteady_supplier_adds_variance():
    rate = DemandRate(2.0, 1.0, 6.0, 2.0)
    steady, unsteady = (
        compute_demand_ahead(rate, ProtectionTime(30, 0, sd), season=FLAT_SEASON, today=date(2026, 4, 1))
        for sd in (0.0, 365.25 / 24)
    )
    # Half a month's deviation: 2² · 0.5² = 1 (formula of Silver, Pyke & Thomas, from memory).
    assert unsteady.protection.variance - steady.protection.variance == pytest.approx(1.0)


def test_out_of_season_an_unsteady_supplier_adds_nothing():
    winter = SeasonIndex((0.0,) + (12 / 11,) * 11)
    rate = DemandRate(2.0, 1.0, 6.0, 2.0)
    ahead = compute_demand_ahead(rate, ProtectionTime(9, 7, 5.0), season=winter, today=date(2026, 1, 2))
    assert ahead.protection == Demand(0.0, 0.0)


def find_pack_level_by_scipy(mean, variance, service, pack):
    law = stats.nbinom(mean**2 / (variance - mean), mean / variance)
    level = 0
    while sum(law.cdf(level + j) for j in range(pack)) / pack < service:
        level += 1
    return level


@pytest.mark.parametrize("pack", [1, 2, 5, 10])
@pytest.mark.parametrize(("mean", "variance"), [(0.4, 0.6), (1.5, 3.0), (9.0, 20.0), (40.0, 90.0)])
def test_pack_aware_level_equals_the_rule_on_scipy(mean, variance, pack):
    for service in (0.85, 0.95, 0.99):
        expected = find_pack_level_by_scipy(mean, variance, service, pack)
        assert compute_level(Demand(mean, variance), service, pack=pack) == expected


@given(
    mean=st.floats(0.01, 120),
    ratio=st.floats(0.5, 6),
    service=st.floats(0.5, 0.999),
    pack=st.integers(1, 30),
)
def test_pack_aware_level_is_never_above_the_plain_one(mean, ratio, service, pack):
    demand = Demand(mean, ratio * mean)
    assert 0 <= compute_level(demand, service, pack=pack) <= compute_level(demand, service)


@given(
    mean=st.floats(0.01, 120),
    ratio=st.floats(0.5, 6),
    services=st.tuples(st.floats(0.5, 0.999), st.floats(0.5, 0.999)).map(sorted),
    pack=st.integers(1, 12),
)
def test_level_with_packs_never_falls_with_the_service(mean, ratio, services, pack):
    low, high = (compute_level(Demand(mean, ratio * mean), q, pack=pack) for q in services)
    assert low <= high


@given(
    means=st.tuples(st.floats(0.01, 120), st.floats(0.01, 120)).map(sorted),
    ratio=st.floats(0.5, 6),
    pack=st.integers(1, 12),
)
def test_level_with_packs_never_falls_with_the_mean(means, ratio, pack):
    low, high = (compute_level(Demand(mean, ratio * mean), 0.95, pack=pack) for mean in means)
    assert low <= high


def test_pack_of_a_very_fast_mover_stays_at_or_below_the_plain_level():
    demand = Demand(2000.0, 4000.0)
    assert (
        compute_level(demand, 0.95) - 50 < compute_level(demand, 0.95, pack=50) < compute_level(demand, 0.95)
    )


def test_plain_level_stands_when_no_smaller_one_serves_with_packs():
    # Beyond a mean of 600 the plain level is approximate and may be a piece low; it is then kept.
    levels = [
        (compute_level(Demand(m, r * m), q), compute_level(Demand(m, r * m), q, pack=2))
        for m in (605.0, 617.0, 700.0, 1001.0, 2503.0, 4999.0)
        for r in (1.0, 1.1)
        for q in (0.5, 0.51, 0.9, 0.95)
    ]
    assert all(plain - 1 <= packed <= plain for plain, packed in levels)
    assert any(plain == packed for plain, packed in levels)


@pytest.mark.parametrize("pack", [0, -1])
def test_pack_without_a_piece_is_refused(pack):
    with pytest.raises(BadInput, match="1 piece or more"):
        compute_level(Demand(1.0, 1.0), 0.95, pack=pack)


def test_rarely_sold_part_is_not_worth_stocking():
    assert compute_level(Demand(0.05, 0.06), 0.95, pack=5) == 0


def test_fill_rate_is_none_when_nothing_is_asked_for():
    assert compute_fill_rate(1, Demand(0.0, 0.0), protection=Demand(0.0, 0.0)) is None
    assert compute_level_for_fill_rate(0.95, Demand(0.0, 0.0), protection=Demand(0.0, 0.0)) == 0


def test_fill_rate_target_holds_at_least_one_piece_of_any_part():
    slow = DemandAhead(Demand(0.01, 0.011), Demand(0.02, 0.022))
    assert compute_stock_level(slow, ServiceTarget(0.9)).level == 0
    assert compute_stock_level(slow, ServiceTarget(0.9, ServiceKind.FILL_RATE)).level == 1


@given(mean=st.floats(0.02, 40), ratio=st.floats(1, 4), fill=st.floats(0.5, 0.99))
def test_level_for_a_fill_rate_is_the_smallest_that_reaches_it(mean, ratio, fill):
    lead, protection = Demand(mean, ratio * mean), Demand(1.5 * mean, 1.5 * ratio * mean)
    level = compute_level_for_fill_rate(fill, lead, protection=protection)
    assert compute_fill_rate(level, lead, protection=protection) >= fill
    assert compute_fill_rate(level - 1, lead, protection=protection) < fill


def test_reorder_point_is_one_below_the_level():
    # fill by scipy: 1 - (loss_h(4) - loss_L(4)) / 0.5 with nbinom.
    found = compute_stock_level(AHEAD, ServiceTarget())
    assert (found.level, found.reorder_point, found.is_capped) == (4, 3, False)
    assert found.fill_rate == pytest.approx(0.8763, abs=5e-5)


@pytest.mark.parametrize(
    ("rate", "level", "is_capped"),
    [
        (0.0, 19, False),
        (0.99, 19, False),
        (1.0, 12, True),
        (1.5, 18, True),
        (1.51, 19, False),
        (9.0, 19, False),
    ],
)
def test_level_of_a_fast_mover_beyond_a_years_demand_is_cut_and_says_so(rate, level, is_capped):
    # By scipy: nbinom of mean 9, variance 27 is covered to 95 % by 19. The cap: common practice, no source.
    slow_supplier = DemandAhead(Demand(8.0, 24.0), Demand(9.0, 27.0))
    found = compute_stock_level(slow_supplier, ServiceTarget(), rate_per_month=rate)
    assert (found.level, found.is_capped) == (level, is_capped)


@pytest.mark.parametrize(("pack", "rate_per_month", "level"), [(1, 0.7, 2), (10, 0.7, 1), (10, 0.1, 0)])
def test_a_part_that_sells_a_pack_in_two_years_is_ordered_before_somebody_waits(pack, rate_per_month, level):
    """Mean 0.34, variance 0.44: singly 2 pieces reach 95 % (scipy), in tens 0 would do on the average.

    At a level of 0 the reorder point is -1, which an empty shelf does not reach.
    """
    demand = Demand(0.34, 0.44)
    law = stats.nbinom(0.34**2 / 0.10, 0.34 / 0.44)
    assert (law.ppf(0.95), law.cdf(range(10)).mean() > 0.95) == (2, True)
    ahead = DemandAhead(Demand(0.1, 0.12), demand)
    found = compute_stock_level(ahead, ServiceTarget(), pack=pack, rate_per_month=rate_per_month)
    assert found.level == level
