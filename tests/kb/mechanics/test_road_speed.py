"""Tyre size and road speed. Expected figures: published tyre formulas worked by hand."""

import pytest

from kb.errors import BadInput
from kb.mechanics.road_speed import (
    inch_tyre_diameter_mm,
    metric_tyre_diameter_mm,
    road_speed_change_percent,
    road_speed_km_per_h,
    rolling_circumference_mm,
)


def test_low_inch_tyre_has_nine_tenths_of_the_height() -> None:
    """10 in rim and twice 0.9 times 3.5 in: 16.3 in."""
    assert inch_tyre_diameter_mm(3.5, 10.0, aspect_percent=90.0) == pytest.approx(16.3 * 25.4)


def test_one_turn_a_minute_of_a_metre_is_sixty_metres_an_hour() -> None:
    assert road_speed_km_per_h(1.0, 1.0, final_reduction=1.0, circumference_mm=1000.0) == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("ratio_after", "circumference_after", "percent"),
    [(0.8, 1350.0, 0.0), (0.88, 1350.0, -9.0909), (0.8, 1363.5, 1.0), (0.88, 1485.0, 0.0)],
)
def test_speed_changes_with_circumference_over_ratio(
    ratio_after: float, circumference_after: float, percent: float
) -> None:
    change = road_speed_change_percent(
        0.8, ratio_after, circumference_before_mm=1350.0, circumference_after_mm=circumference_after
    )
    assert change == pytest.approx(percent, abs=1e-3)


def test_absurd_values_are_refused() -> None:
    with pytest.raises(BadInput):
        metric_tyre_diameter_mm(100.0, 0.0, rim_in=10.0)
    with pytest.raises(BadInput):
        inch_tyre_diameter_mm(0.0, 10.0)
    with pytest.raises(BadInput):
        rolling_circumference_mm(434.0, 0.0)
    with pytest.raises(BadInput):
        road_speed_km_per_h(7500.0, 0.0, final_reduction=9.2, circumference_mm=1356.0)
    with pytest.raises(BadInput):
        road_speed_change_percent(0.8, 0.0, circumference_before_mm=1350.0, circumference_after_mm=1350.0)
