"""Quantiles against scipy.stats."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.errors import BadInput
from kb.mechanics.normal_scatter import normal_quantile, student_t_central, student_t_quantile

PROBABILITIES = (0.0005, 0.05, 0.3, 0.5, 0.6, 0.9, 0.95, 0.975, 0.995, 0.9995, 0.999999)


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 6, 7, 10, 29, 30, 100, 501])
@pytest.mark.parametrize("probability", PROBABILITIES)
def test_student_t_quantile(probability: float, degrees: int) -> None:
    """Source: scipy.stats.t.ppf."""
    wanted = stats.t.ppf(probability, degrees)
    assert student_t_quantile(probability, degrees) == pytest.approx(wanted, rel=1e-8, abs=1e-12)


@given(st.floats(0.0, 50.0), st.integers(1, 60))
def test_student_t_central_probability(value: float, degrees: int) -> None:
    """Source: scipy.stats.t.cdf."""
    assert student_t_central(value, degrees) == pytest.approx(
        2.0 * stats.t.cdf(value, degrees) - 1.0, abs=1e-12
    )


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_normal_quantile(probability: float) -> None:
    """Source: scipy.stats.norm.ppf."""
    assert normal_quantile(probability) == pytest.approx(stats.norm.ppf(probability), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 90.0, float("nan")])
def test_probabilities_out_of_range_are_refused(probability: float) -> None:
    with pytest.raises(BadInput, match="between 0 and 1"):
        normal_quantile(probability)
    with pytest.raises(BadInput):
        student_t_quantile(probability, 3)


def test_no_degree_of_freedom_is_refused() -> None:
    with pytest.raises(BadInput, match="more readings"):
        student_t_quantile(0.95, 0)
