"""Demand over a time as a negative binomial, or a Poisson where the variance is not above the mean.

Both follow one recurrence, p(k) = p(k-1) · (a + b·(k-1)) / k, with a = mean/phi, b = 1 - 1/phi and
phi = variance/mean (b = 0 is the Poisson). Plain arithmetic is enough; no statistics package.

Source: published: Panjer, Recursive Evaluation of a Family of Compound Distributions, ASTIN
Bulletin 12 (1981), from memory, for the recurrence; checked against scipy's nbinom and poisson.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice, repeat
from math import ceil, exp, lgamma, log, log1p, sqrt
from statistics import NormalDist

from kb.errors import BadInput

# Below this logarithm of p(0) the plain recurrence comes near the smallest float.
SMALLEST_LOG_P0 = -600.0
HIGHEST_SERVICE = 0.9999
_NEGLIGIBLE = 1e-18


@dataclass(frozen=True, slots=True)
class Demand:
    """Demand over a stretch of time [pieces, pieces²]; a variance not above the mean reads as Poisson."""

    mean: float
    variance: float


def check_service(service: float) -> None:
    """Refuse a probability outside 0 … 0.9999; beyond it a level is a guess about the far tail."""
    if not 0.0 < service <= HIGHEST_SERVICE:
        message = f"Service '{service}' is not usable; write a share above 0 and up to {HIGHEST_SERVICE}."
        raise BadInput(message, field="service")


def compute_quantile(demand: Demand, service: float) -> int:
    """Smallest whole number of pieces that covers the demand with at least the given probability.

    Args:
        demand: mean and variance over the time to be covered [pieces], mean from 0.
        service: probability, above 0 up to 0.9999.

    Returns:
        Pieces. Exact while log p(0) >= -600 (a Poisson mean of 600); beyond it the cube-root
        approximation, at most 1 piece or 0.15 % off up to a mean of 5,000.

    Raises:
        BadInput: service outside its range.

    Source: published: negative binomial distribution; the approximation is Wilson and Hilferty's
    (1931) for the gamma distribution, from memory.

    Example:
        >>> compute_quantile(Demand(1.5, 3.0), 0.95)
        5
        >>> compute_quantile(Demand(0.0, 0.0), 0.95)
        0
    """
    check_service(service)
    mean, variance = demand.mean, demand.variance
    if mean <= 0.0:
        return 0
    a, b, log_p0 = _compute_recurrence(mean, variance)
    if log_p0 < SMALLEST_LOG_P0:
        return _approximate_quantile(mean, max(variance, mean), service)
    k, p = 0, exp(log_p0)
    total = p
    while total < service:
        k += 1
        p *= (a + b * (k - 1)) / k
        total += p
    return k


def compute_probability_at_most(demand: Demand, level: int) -> float:
    """Probability that the demand does not exceed the level (0 below 0).

    Example:
        >>> round(compute_probability_at_most(Demand(1.5, 3.0), 5), 6)
        0.96541
    """
    return list_cumulative(demand, level, last=level)[0]


def compute_expected_short(demand: Demand, level: int) -> float:
    """Pieces asked for beyond the level, on average: E[(D - level)+].

    A negative level (pieces already promised) is short by itself: mean - level.

    Source: published: loss function; Snyder & Shen, Fundamentals of Supply Chain Theory, 2nd ed.,
    Wiley 2019, appendix C (from memory); worked values from stockpyl 1.0.2.

    Example:
        >>> round(compute_expected_short(Demand(15.0, 15.0), 18), 6)
        0.51761
        >>> compute_expected_short(Demand(2.0, 3.0), -1)
        3.0
    """
    if level <= 0:
        return demand.mean - level
    covered = sum([1.0 - at_most for at_most in list_cumulative(demand, 0, last=level - 1)])
    return max(demand.mean - covered, 0.0)


def list_cumulative(demand: Demand, first: int, *, last: int) -> list[float]:
    """P(D <= k) for k = first … last."""
    values: list[float] = [0.0] * (min(0, last + 1) - first) if first < 0 else []
    if last < 0:
        return values
    start = max(first, 0)
    if demand.mean <= 0.0:
        return values + [1.0] * (last - start + 1)
    total = 0.0
    for k, p in enumerate(_list_probabilities(demand, last + 1)):
        total += p
        if k >= start:
            values.append(total if total < 1.0 else 1.0)
    return values


def _compute_recurrence(mean: float, variance: float) -> tuple[float, float, float]:
    """Factors a and b of the recurrence and log p(0)."""
    excess = variance / mean - 1.0
    if excess <= 1e-12:
        return mean, 0.0, -mean
    phi = 1.0 + excess
    return mean / phi, excess / phi, -mean * log1p(excess) / excess


def _approximate_quantile(mean: float, variance: float, service: float) -> int:
    shape = mean * mean / variance
    cube_root = 1.0 - 1.0 / (9.0 * shape) + _compute_normal_quantile(service) / (3.0 * sqrt(shape))
    return max(ceil(mean * cube_root**3 - 0.5), 0)


@lru_cache(maxsize=64)
def _compute_normal_quantile(service: float) -> float:
    return NormalDist().inv_cdf(service)


def _list_probabilities(demand: Demand, count: int) -> list[float]:
    """p(0) … p(count - 1); 0 while p(k) is negligible when p(0) is too small for a float."""
    a, b, log_p0 = _compute_recurrence(demand.mean, demand.variance)
    if log_p0 < SMALLEST_LOG_P0:
        return list(islice(_iterate_from_bulk(demand.mean, a, b=b), count))
    p = exp(log_p0)
    found = [p]
    for k in range(1, count):
        p *= (a + b * (k - 1)) / k
        found.append(p)
    return found


def _iterate_from_bulk(mean: float, a: float, *, b: float) -> Iterator[float]:
    k, p = _find_negligible_start(mean, a, b=b)
    yield from repeat(0.0, k)
    while True:
        yield p
        k += 1
        p *= (a + b * (k - 1)) / k


def _find_negligible_start(mean: float, a: float, *, b: float) -> tuple[int, float]:
    """The k below the bulk of the demand where the recurrence may start, and p(k)."""
    k = int(mean)
    if b == 0.0:
        p = exp(k * log(mean) - mean - lgamma(k + 1))
    else:
        r = a / b
        p = exp(lgamma(k + r) - lgamma(r) - lgamma(k + 1) + r * log1p(-b) + k * log(b))
    while k > 0 and p > _NEGLIGIBLE:
        p *= k / (a + b * (k - 1))
        k -= 1
    return k, p
