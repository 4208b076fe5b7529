"""The bound that puts parts aside, against the distribution it stands in for."""

import random

import pytest
from scipy.stats import nbinom

from kb.rules.reorder.demand_rate import (
    NO_HISTORY,
    DemandSums,
    PartTypePrior,
    compute_demand_over,
    compute_demand_rate,
)
from kb.rules.reorder.quick_look import QuickLook

PRIOR = PartTypePrior(0.5, 2.0, 1.2, 0.1, 9)


def look_at(look: QuickLook, position: int, sums: DemandSums) -> bool:
    return look.is_surely_enough(position, sums.pieces, sums.squares, (sums.exposure_months, sums.months))


def test_what_is_surely_enough_is_enough_for_a_negative_binomial():
    """Source: scipy's nbinom, with mean and variance of the two rules that the bound stands in for."""
    chance, enough = random.Random(5), 0
    for _ in range(2000):
        exposure = chance.uniform(0.5, 10.0)
        pieces = chance.uniform(0.0, 5.0) * exposure
        squares = pieces * chance.uniform(1.0, 6.0) + pieces * pieces / exposure
        sums = DemandSums(pieces, exposure, squares, exposure)
        look = QuickLook(PRIOR, chance.uniform(0.1, 3.0), chance.choice((0.8, 0.95, 0.99)))
        position = chance.randrange(0, 60)
        if look_at(look, position, sums):
            demand = compute_demand_over(compute_demand_rate(sums, PRIOR), look.exposure_ahead_months)
            # A spread of 1 is a Poisson, the limit of the negative binomial.
            share = min(demand.mean / demand.variance, 1.0 - 1e-9)
            assert nbinom.cdf(position, demand.mean * share / (1.0 - share), share) >= look.service
            enough += 1
    assert enough > 500


def test_more_squares_never_make_a_part_look_safer():
    look = QuickLook(PRIOR, 1.0, 0.95)
    for position in range(40):
        close = look_at(look, position, DemandSums(6.0, 6.0, 8.0, 6.0))
        bound = look_at(look, position, DemandSums(6.0, 6.0, 80.0, 6.0))
        assert close or not bound


@pytest.mark.parametrize(("position", "is_enough"), [(-1, False), (0, False), (4, False), (5, True)])
def test_a_part_without_history_is_looked_at_by_its_part_type(position, is_enough):
    """Mean 0.5, variance 1.25 · 0.5 · 1.5: Cantelli asks for 0.5 + √(19 · 0.9375) = 4.72 at 95 %."""
    look = QuickLook(PartTypePrior(0.5, 2.0, 1.25, 0.0, 9), 1.0, 0.95)
    assert look_at(look, position, NO_HISTORY) is is_enough


@pytest.mark.parametrize(("position", "is_enough"), [(12, False), (13, True)])
def test_a_part_that_sells_is_put_aside_by_the_closer_bound(position, is_enough):
    """Mean 5, spread 1.5, r = 10; the distance of k = 14 is 14 ln 2.8 - 24 ln 1.6 = 3.13, of 13 2.57.

    At 95 % it must reach ln 20 = 3.00; Cantelli would ask for 5 + √(19 · 7.5) = 16.9 pieces.
    """
    look = QuickLook(PartTypePrior(5.0, 2.0, 1.0, 0.0, 9), 1.0, 0.95)
    assert look_at(look, position, NO_HISTORY) is is_enough
