"""Drawings of the bench: points where the numbers say, computed here by hand (plain geometry)."""

import re

import pytest

from api.drawings.ride import draw_ride
from api.drawings.roller_circle import draw_roller_circle
from api.drawings.stock_plot import StockMonths, draw_stock_plot
from api.drawings.wear_plot import WearPlot, draw_wear_plot, list_ticks


def points(path):
    return [tuple(map(float, pair.split())) for pair in re.findall(r"[ML]([-\d. ]+)", path)]


def test_worn_belt_touches_both_flanks_deeper_by_the_wedge():
    # 2 mm narrower in 30°: 2 / (2 tan 15°) = 3.73 mm deeper.
    picture = draw_ride(18.0, 16.0, angle_deg=30.0, height_mm=8.0)
    worn = next(stroke for stroke in picture.strokes if stroke.style == "belt asked")
    assert points(worn.path)[:2] == [(-8.0, 3.73), (8.0, 3.73)]
    assert "about 4 mm deeper" in picture.caption


def test_a_wider_belt_is_drawn_higher():
    picture = draw_ride(18.0, 19.0, angle_deg=30.0)
    assert "about 1.9 mm higher" in picture.caption  # 1 / (2 tan 15°) = 1.87
    assert picture.corner.y < -4.0


def test_rollers_stand_clockwise_from_the_top_and_heavy_ones_are_marked():
    picture = draw_roller_circle([7, 6, 7, 6, 7, 6], caption="c")
    styles = [stroke.style for stroke in picture.strokes if stroke.style.startswith("roller")]
    assert styles == ["roller heavy", "roller light"] * 3
    assert "slot 1: 7 g, slot 2: 6 g" in picture.description


def test_equal_rollers_are_none_of_them_heavy():
    picture = draw_roller_circle([7, 7, 7], caption="c")
    assert {stroke.style for stroke in picture.strokes} == {"rim", "roller light"}


def test_forecast_meets_the_limit_line_at_the_remaining_distance():
    plot = WearPlot(
        [(0.0, 18.0), (2000.0, 17.5), (4000.0, 17.0)], "km", "mm",
        limit=16.5, nominal=18.0, level_now=17.0, remaining=2000.0, low=1800.0, high=2200.0, again=5500.0,
    )  # fmt: skip
    picture = draw_wear_plot(plot, key="k", title="t", caption="c")
    by_style = {stroke.style: points(stroke.path) for stroke in picture.strokes}
    assert by_style["forecast"][1][1] == by_style["limit"][0][1]
    near, far = by_style["band"][1][0], by_style["band"][2][0]
    assert near < by_style["forecast"][1][0] < far
    assert by_style["again"][0][0] < near
    assert len([stroke for stroke in picture.strokes if stroke.style == "reading"]) == 3


def test_a_band_that_ends_very_far_away_is_cut_at_the_edge_and_squeezes_nothing():
    """Shown are four times the 4,000 km left (choice of this project) and 5 % of 3,000 … 25,000 km each side.

    The plot is 128 mm wide, so 4,000 km of 24,200 km are 21.16 mm.
    """
    plot = WearPlot(
        [(3000.0, 17.9), (6000.0, 17.4), (9000.0, 17.1)], "km", "mm",
        limit=16.5, level_now=17.1, remaining=4000.0, low=400.0, high=80_000.0, again=9400.0,
    )  # fmt: skip
    picture = draw_wear_plot(plot, key="k", title="t", caption="c")
    by_style = {stroke.style: points(stroke.path) for stroke in picture.strokes}
    (start, _near, far, upper), edge = by_style["band"], by_style["axis"][2][0]
    assert far[0] == upper[0] == edge
    share = (far[1] - upper[1]) / (far[1] - start[1])  # of the wear allowance that is left there
    assert share == pytest.approx(1 - (16_000 + 0.05 * 22_000) / 80_000, abs=0.01)
    assert by_style["forecast"][1][0] - start[0] == pytest.approx(21.16, abs=0.02)


@pytest.mark.parametrize(("again", "anchor"), [(1000.0, "start"), (9000.0, "end")])
def test_the_words_where_to_measure_again_stay_inside_the_plot(again, anchor):
    plot = WearPlot([(0.0, 18.0), (500.0, 17.9)], "km", "mm", 16.5, 18.0, 17.9, 9500.0, 800.0, 9800.0, again)
    picture = draw_wear_plot(plot, key="k", title="t", caption="c")
    words = next(label for label in picture.labels if label.text == "measure again")
    assert words.anchor == anchor
    assert "limit 16.5 mm" in [label.text for label in picture.labels]


def test_the_stock_plot_says_since_when_the_stock_is_known():
    months = StockMonths(["2026-10", "2026-11"], [3, 0], [None, 14], 4)
    assert "pieces on hand at its end, known since 2026-11." in draw_stock_plot(months, title="t").caption
    whole = StockMonths(["2026-10", "2026-11"], [3, 0], [17, 14], 4)
    assert "known since" not in draw_stock_plot(whole, title="t").caption


def test_a_series_without_a_place_on_the_axis_is_not_drawn():
    assert draw_wear_plot(WearPlot([], "km", "mm"), key="k", title="t", caption="c") is None


@pytest.mark.parametrize("size", [17.0, 0.0])
def test_one_reading_without_a_limit_is_drawn(size):
    picture = draw_wear_plot(WearPlot([(9100.0, size)], "km", "mm"), key="k", title="t", caption="c")
    assert "limit" not in [stroke.style for stroke in picture.strokes]


@pytest.mark.parametrize(
    ("low", "high", "ticks"), [(0, 9500, [0, 2000, 4000, 6000, 8000]), (16.4, 18.1, [16.5, 17.0, 17.5, 18.0])]
)
def test_ticks_are_round_numbers(low, high, ticks):
    assert list_ticks(low, high) == ticks
