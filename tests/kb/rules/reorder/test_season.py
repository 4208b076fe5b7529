"""Season of a part type, and months of exposure ahead."""

from datetime import date

import pytest

from kb.errors import BadInput
from kb.rules.reorder.season import (
    FLAT_SEASON,
    SeasonIndex,
    compute_exposure_ahead,
    compute_exposure_of_month,
    compute_exposure_of_months,
    compute_season_index,
)

JUNE_ONLY = SeasonIndex((0.0,) * 5 + (12.0,) + (0.0,) * 6)


def test_season_of_the_synthetic_set_peaks_in_june(synthetic_demand):
    # The set was made with a peak in June (README beside this file).
    totals = [sum(months[k] or 0 for _, months in synthetic_demand) for k in range(60)]
    factors = compute_season_index(totals, 1).factors
    assert max(range(12), key=lambda k: factors[k]) == 5
    assert sum(factors) == pytest.approx(12.0)
    assert min(factors) < 0.7
    assert max(factors) > 1.3


def test_season_is_found_whatever_month_the_history_starts_in():
    # Worked out by hand: 100 a month, 200 in June. The centred year around June holds 12 months + one
    # more June's weight: mean 1300/12; around other months the same. 3 Junes with a full year around.
    months = [200 if (2 + k) % 12 == 5 else 100 for k in range(48)]
    factors = compute_season_index(months, 3).factors
    raw_june, raw_other = (40 + 3 * 200) / (40 + 3 * 1300 / 12), (40 + 300) / (40 + 3 * 1300 / 12)
    assert factors[5] / factors[0] == pytest.approx(raw_june / raw_other)


def test_a_thin_history_hardly_makes_a_season():
    months = [1 if k % 12 == 5 else 0 for k in range(36)]
    assert max(compute_season_index(months, 1).factors) < 1.06


def test_under_two_years_there_is_no_season():
    assert compute_season_index([0, 9] * 11 + [3], 1) == FLAT_SEASON
    assert compute_season_index([0, 9] * 12, 1) != FLAT_SEASON


def test_exposure_ahead_counts_each_day_in_its_own_month():
    # 20 May + 24 days: 12 days of May count nothing, 12 of 30 days of June count 12 each.
    assert compute_exposure_ahead(JUNE_ONLY, date(2026, 5, 20), days=24) == pytest.approx(12 * 12 / 30)
    assert compute_exposure_ahead(FLAT_SEASON, date(2026, 12, 1), days=62) == pytest.approx(2.0)
    assert compute_exposure_ahead(FLAT_SEASON, date(2024, 2, 1), days=29) == pytest.approx(1.0)
    assert compute_exposure_ahead(FLAT_SEASON, date(2026, 2, 1), days=0) == 0.0


def test_exposure_of_months_takes_the_last_one_in_part():
    assert compute_exposure_of_months(JUNE_ONLY, 5, months=1.5) == pytest.approx(6.0)
    assert compute_exposure_of_months(JUNE_ONLY, 12, months=6.25) == pytest.approx(3.0)


def test_exposure_of_a_month_is_season_times_days_in_stock():
    assert compute_exposure_of_month(1.5, 0.2) == pytest.approx(0.3)
    with pytest.raises(BadInput, match=r"'1.2' is not usable"):
        compute_exposure_of_month(1.0, 1.2)


@pytest.mark.parametrize("factors", [(1.0,) * 11, (1.0,) * 11 + (-0.1,)])
def test_unusable_season_is_refused(factors):
    with pytest.raises(BadInput, match="12 factors"):
        SeasonIndex(factors)
