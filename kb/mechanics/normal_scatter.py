"""Quantiles of the normal and of Student's t distribution, for intervals of wear.

Source: published: finite series of Student's distribution for whole degrees of freedom (Abramowitz and
Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4, from memory); compared with a general-purpose
library.
"""

from math import atan, cos, exp, inf, lgamma, log, log1p, pi, sin, sqrt
from statistics import NormalDist

from kb.errors import BadInput

_STEP_SHARE = 1e-13


def normal_quantile(probability: float) -> float:
    """Value that a standard normal deviate stays below with a probability between 0 and 1.

    Example:
        >>> round(normal_quantile(0.975), 3)
        1.96
    """
    _check_probability(probability)
    return NormalDist().inv_cdf(probability)


def student_t_central(value: float, degrees_of_freedom: int) -> float:
    """Probability that Student's t lies between minus and plus a value of 0 or more.

    Args:
        value: bound, 0 or more.
        degrees_of_freedom: 1 or more.

    Returns:
        Probability, 0 to 1.

    Example:
        >>> round(student_t_central(1.0, 1), 6)
        0.5
    """
    angle = atan(value / sqrt(degrees_of_freedom))
    cosine_squared = cos(angle) ** 2
    is_odd = degrees_of_freedom % 2
    term = cos(angle) if is_odd else 1.0
    series = term if degrees_of_freedom > 1 else 0.0
    for power in range(2 + is_odd, degrees_of_freedom - 1, 2):
        term *= cosine_squared * (power - 1) / power
        series += term
    if is_odd:
        return 2.0 / pi * (angle + sin(angle) * series)
    return sin(angle) * series


def student_t_quantile(probability: float, degrees_of_freedom: int) -> float:
    """Value that Student's t stays below with a probability.

    Args:
        probability: between 0 and 1, bounds excluded.
        degrees_of_freedom: 1 or more.

    Returns:
        The quantile, negative below one half.

    Raises:
        BadInput: a value out of range.

    Example:
        >>> round(student_t_quantile(0.95, 3), 4)
        2.3534
    """
    _check_probability(probability)
    if degrees_of_freedom < 1:
        raise BadInput(
            f"Degrees of freedom '{degrees_of_freedom}' are below 1; take more readings.",
            field="degrees_of_freedom",
        )
    if probability < 0.5:
        return -student_t_quantile(1.0 - probability, degrees_of_freedom)
    # The distribution is hollow above zero and wider than the normal one, so that Newton's method from the
    # normal quantile climbs to the root without passing it.
    value = normal_quantile(probability)
    step = inf
    while step > _STEP_SHARE * value:
        excess = 0.5 + 0.5 * student_t_central(value, degrees_of_freedom) - probability
        step = -excess / _student_t_density(value, degrees_of_freedom)
        value += step
    return value


def _student_t_density(value: float, degrees_of_freedom: int) -> float:
    half = 0.5 * (degrees_of_freedom + 1)
    logarithm = lgamma(half) - lgamma(0.5 * degrees_of_freedom) - 0.5 * log(degrees_of_freedom * pi)
    return exp(logarithm - half * log1p(value * value / degrees_of_freedom))


def _check_probability(probability: float) -> None:
    if not 0.0 < probability < 1.0:
        raise BadInput(
            f"Probability '{probability}' does not lie between 0 and 1; give 0.9 for 90 %.",
            field="probability",
        )
