"""Remaining distance from a bench book.

Sources: straight line by scipy linregress with the interval found by root search on its confidence band;
robust line by scipy theilslopes; one and two readings by trying all corners by hand. Data are made up.
Measuring tolerances (0.1 mm on rubber, 0.05 mm on metal, new belt ± 0.2 mm) are judgement of the project.
"""

from datetime import date, timedelta

import pytest
from scipy import stats

from kb.rules.gauge_values import GaugeLimit
from kb.rules.wear_series import forecast_series
from kb.rules.wear_series_values import (
    SeriesAnswer,
    SeriesAxis,
    SeriesEntry,
    SeriesFindingCode,
    SeriesMethod,
    SeriesState,
)
from kb.terms import Certainty, LimitSense, Position

LIMIT = GaugeLimit(18.0, 16.2, LimitSense.MIN)
KM = (0.0, 2000.0, 4100.0, 6000.0, 8200.0)
WIDTHS = (18.0, 17.7, 17.35, 17.1, 16.7)


def forecast(entries: list[SeriesEntry], limit: GaugeLimit = LIMIT) -> SeriesAnswer:
    return forecast_series(entries, limit, position=Position.DRIVE_BELT)


def book(*pairs: tuple[float, float]) -> list[SeriesEntry]:
    """Entries from pairs of odometer and reading."""
    return [SeriesEntry(value, odometer_km) for odometer_km, value in pairs]


def codes(answer: SeriesAnswer) -> list[SeriesFindingCode]:
    return [finding.code for finding in answer.findings]


FIVE = book(*zip(KM, WIDTHS, strict=True))


def test_five_readings_give_a_distance_with_its_interval() -> None:
    """scipy: 3312.5 km left, 90 % between 2871.2 and 3804.5, level now 16.7200 mm."""
    answer = forecast(FIVE)
    assert (answer.state, answer.method, answer.axis) == (
        SeriesState.PROJECTED,
        SeriesMethod.LINE,
        SeriesAxis.KM,
    )
    assert answer.remaining == pytest.approx(3312.4847, abs=0.5)
    assert answer.low == pytest.approx(2871.174512, abs=0.5)
    assert answer.high == pytest.approx(3804.465217, abs=0.5)
    assert answer.level_now == pytest.approx(16.72004228, abs=1e-4)
    assert answer.room == pytest.approx(0.5)
    assert answer.certainty is Certainty.PROBABLE
    assert answer.findings == ()
    assert answer.text == "About 3300 km left, between 2800 and 3800 km."


def test_rate_is_that_of_linregress() -> None:
    slope = stats.linregress(KM, WIDTHS).slope
    assert forecast(FIVE).rate == pytest.approx(slope, rel=1e-9)


def test_measure_again_after_wear_of_three_uncertainties() -> None:
    """0.3 mm at 0.000156995 mm/km is 1910.9 km past 8200 km, before the near end of the interval."""
    assert forecast(FIVE).measure_again_km == pytest.approx(10110.9, abs=0.5)


def test_measure_again_before_the_near_end_of_the_interval() -> None:
    """Limit 16.6: remaining 764.3 km; the near end comes before 1910.9 km."""
    answer = forecast(FIVE, GaugeLimit(18.0, 16.6, LimitSense.MIN))
    assert answer.low is not None
    assert answer.low < 764.4
    assert answer.measure_again_km == pytest.approx(8200.0 + answer.low)


def test_measure_again_no_later_than_twice_what_was_observed() -> None:
    """3 · 0.1 mm at 0.02 mm per 100 km would be 1500 km; 100 km were observed."""
    answer = forecast(book((0.0, 18.0), (100.0, 17.98)), GaugeLimit(18.0, 10.0, LimitSense.MIN))
    assert answer.measure_again_km == pytest.approx(300.0)


def test_readings_that_do_not_fall_give_no_distance() -> None:
    """scipy linregress: slope not different from 0 at 90 %."""
    answer = forecast(book((0.0, 18.0), (1000.0, 18.1), (2000.0, 17.9), (3000.0, 18.05)))
    assert answer.state is SeriesState.NO_PROVEN_WEAR
    assert (answer.remaining, answer.low, answer.high, answer.measure_again_km) == (None, None, None, None)
    assert answer.certainty is Certainty.UNSURE
    assert "do not prove wear" in answer.text


def test_one_gross_misreading_does_not_spoil_the_robust_line() -> None:
    """scipy theilslopes: -0.00013333 mm/km, 2250 km left to 16.5 mm, open above."""
    entries = book(
        (0.0, 18.0), (1500.0, 17.8), (3000.0, 14.7), (4500.0, 17.4), (6000.0, 17.2), (7500.0, 17.0)
    )
    answer = forecast(entries, GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.method is SeriesMethod.ROBUST
    assert answer.rate == pytest.approx(-0.0001333333333, rel=1e-6)
    assert answer.remaining == pytest.approx(2250.0, abs=0.5)
    assert answer.high is None
    assert codes(answer) == [SeriesFindingCode.GROWING_READING, SeriesFindingCode.ODD_READING]
    assert answer.certainty is Certainty.UNSURE
    assert answer.text == "At least 2200 km left; how far beyond can't be said from these readings yet."


def straight_but_one(odd_place: int, *, lower_by: float) -> list[SeriesEntry]:
    """Ten readings that lose 0.1 mm per 1000 km, one of them lower than the line."""
    return [
        SeriesEntry(18.0 - 0.1 * place - (lower_by if place == odd_place else 0.0), 1000.0 * place)
        for place in range(10)
    ]


def test_robust_line_takes_over_when_it_leaves_the_interval_of_the_line() -> None:
    """The last of ten is 0.3 mm low: least squares follows it, scipy theilslopes does not."""
    entries = straight_but_one(9, lower_by=0.3)
    answer = forecast(entries, GaugeLimit(18.0, 16.7, LimitSense.MIN))
    slope = stats.theilslopes([e.value for e in entries], [e.odometer_km for e in entries]).slope
    assert answer.method is SeriesMethod.ROBUST
    assert answer.rate == pytest.approx(slope, rel=1e-9)
    assert answer.remaining == pytest.approx(4000.0)
    assert codes(answer) == [SeriesFindingCode.ODD_READING]


def test_odd_last_reading_is_believed_at_the_near_end_and_measured_again_at_once() -> None:
    """The last reading of 16.8 mm leaves 0.1 mm, 1000 km at 0.1 mm per 1000 km."""
    answer = forecast(straight_but_one(9, lower_by=0.3), GaugeLimit(18.0, 16.7, LimitSense.MIN))
    assert answer.low == pytest.approx(1000.0)
    assert answer.measure_again_km == 9000.0
    assert "measure again at once" in answer.findings[0].text


def test_odd_reading_further_back_leaves_the_last_one_its_weight() -> None:
    """The first of ten is 1 mm low. Intercept as scipy theilslopes has it: median 17.45 mm at median 4500 km,

    so 17.0 mm at 9000 km, 0.3 mm above the limit.
    """
    answer = forecast(straight_but_one(0, lower_by=1.0), GaugeLimit(18.0, 16.7, LimitSense.MIN))
    assert answer.method is SeriesMethod.ROBUST
    assert "can't spoil" in answer.findings[1].text
    assert answer.low == pytest.approx(3000.0)
    assert answer.measure_again_km == pytest.approx(12000.0)


def test_unexplained_growth_that_no_method_can_read_gives_no_distance() -> None:
    """17.0 to 18.0 mm: most likely a new belt that nobody wrote down."""
    answer = forecast(book((0.0, 17.2), (500.0, 17.0), (1000.0, 18.0), (1500.0, 18.0)))
    assert answer.state is SeriesState.NO_PROVEN_WEAR
    assert codes(answer) == [SeriesFindingCode.GROWING_READING]
    assert "a new part whose fitting was not written down" in answer.findings[0].text


@pytest.mark.parametrize(("second", "grows"), [(17.2, False), (17.21, True)])
def test_growth_counts_from_twice_the_uncertainty(second: float, grows: bool) -> None:
    """2 · 0.1 mm on rubber."""
    answer = forecast(book((0.0, 17.0), (1000.0, second)))
    assert (SeriesFindingCode.GROWING_READING in codes(answer)) is grows


def test_two_readings_give_bounds() -> None:
    """1 mm in 5000 km, 0.8 to 1.2; room 0.5 ± 0.1 mm: 0.4 · 5000/1.2, 0.5 · 5000, 0.6 · 5000/0.8."""
    answer = forecast(book((0.0, 18.0), (5000.0, 17.0)), GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.method is SeriesMethod.TWO_READINGS
    assert answer.remaining == pytest.approx(2500.0)
    assert answer.low == pytest.approx(1666.667, abs=0.01)
    assert answer.high == pytest.approx(3750.0)
    assert answer.certainty is Certainty.UNSURE


def test_one_reading_and_the_distance_since_new_give_bounds() -> None:
    """1 mm in 9000 km, ± 0.2 new, ± 0.1 read: 0.4 · 9000/1.3 = 2769, 4500, 0.6 · 9000/0.7 = 7714 km."""
    entries = [SeriesEntry(odometer_km=31000.0, is_new_part=True), SeriesEntry(17.0, 40000.0)]
    answer = forecast(entries, GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.method is SeriesMethod.ONE_READING
    assert answer.remaining == pytest.approx(4500.0)
    assert answer.low == pytest.approx(2769.23, abs=0.01)
    assert answer.high == pytest.approx(7714.29, abs=0.01)
    assert answer.measure_again_km == pytest.approx(42700.0)  # 0.3 mm at 1 mm per 9000 km


@pytest.mark.parametrize(
    ("entries", "nominal"),
    [
        ([SeriesEntry(17.0, 40000.0)], 18.0),
        ([SeriesEntry(17.0)], 18.0),
        ([SeriesEntry(odometer_km=31000.0, is_new_part=True), SeriesEntry(17.0)], 18.0),
        ([SeriesEntry(is_new_part=True), SeriesEntry(17.0, 40000.0)], 18.0),
        ([SeriesEntry(odometer_km=31000.0, is_new_part=True), SeriesEntry(17.0, 40000.0)], None),
        ([SeriesEntry(17.0, 40000.0, is_new_part=True)], 18.0),
    ],
)
def test_one_reading_without_a_distance_or_a_new_size_gives_only_the_room(
    entries: list[SeriesEntry], nominal: float | None
) -> None:
    answer = forecast(entries, GaugeLimit(nominal, 16.5, LimitSense.MIN))
    assert answer.state is SeriesState.NO_RATE
    assert answer.room == pytest.approx(0.5)
    assert (answer.rate, answer.remaining, answer.measure_again_km) == (None, None, None)


def test_a_new_part_starts_a_new_series() -> None:
    old = book((0.0, 18.0), (4000.0, 17.0), (8000.0, 16.0))
    new = [SeriesEntry(18.0, 8000.0, is_new_part=True), SeriesEntry(17.0, 13000.0)]
    answer = forecast([*old, *new], GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.reading_count == 2
    assert answer.remaining == pytest.approx(2500.0)
    assert answer.findings == ()


def test_falling_odometer_is_a_data_error_not_negative_wear() -> None:
    answer = forecast(book((5000.0, 17.5), (4000.0, 17.2), (6000.0, 17.0)))
    assert answer.state is SeriesState.DATA_ERROR
    assert codes(answer) == [SeriesFindingCode.FALLING_ODOMETER]
    assert "'4000' km follows 5000 km" in answer.findings[0].text
    assert answer.remaining is None


def test_odometer_that_fell_on_an_earlier_part_does_not_matter() -> None:
    entries = [*book((9000.0, 17.0)), SeriesEntry(18.0, 0.0, is_new_part=True), SeriesEntry(17.0, 5000.0)]
    assert forecast(entries).state is SeriesState.PROJECTED


@pytest.mark.parametrize(
    ("last", "state", "remaining"),
    [(16.5, "projected", 0.0), (16.49, "beyond_limit", 0.0), (16.51, "projected", 33.557)],
)
def test_around_the_limit(last: float, state: str, remaining: float) -> None:
    """On the limit is still good; 0.01 mm at 1.49 mm per 5000 km is 33.6 km."""
    answer = forecast(book((0.0, 18.0), (5000.0, last)), GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.state.value == state
    assert answer.remaining == pytest.approx(remaining, abs=0.01)


def test_part_beyond_its_limit_is_sure_to_be_replaced() -> None:
    answer = forecast(book((0.0, 18.0), (4000.0, 17.0), (8000.0, 16.0)))
    assert answer.certainty is Certainty.SURE
    assert answer.text == "The last reading is beyond the limit: nothing left, replace."
    assert answer.measure_again_km is None


@pytest.mark.parametrize(("limit", "far"), [(14.0, False), (13.9, True)])
def test_beyond_twice_the_observed_span_is_warned_of(limit: float, far: bool) -> None:
    """2 mm in 8000 km: 16 mm to 12 mm is exactly 16000 km; the interval is a point on an exact line."""
    answer = forecast(book((0.0, 18.0), (4000.0, 17.0), (8000.0, 16.0)), GaugeLimit(18.0, limit - 2.0))
    assert (SeriesFindingCode.FAR_PROJECTION in codes(answer)) is far
    assert answer.certainty is (Certainty.UNSURE if far else Certainty.PROBABLE)


def test_bell_that_grows_wears_towards_a_largest_size() -> None:
    """0.1 mm in 10 000 km, 0.4 mm left: 40 000 km; rate shown growing."""
    entries = book((0.0, 107.0), (5000.0, 107.05), (10000.0, 107.1))
    answer = forecast_series(entries, GaugeLimit(107.0, 107.5), position=Position.CLUTCH_BELL)
    assert answer.remaining == pytest.approx(40000.0)
    assert answer.rate == pytest.approx(1e-5)
    assert answer.level_now == pytest.approx(107.1)
    assert answer.room == pytest.approx(0.4)


def test_a_life_whose_ends_lie_ten_times_apart_has_no_middle() -> None:
    """New ± 0.2 mm and read ± 0.1 mm: with 0.30 mm gone in 1000 km nothing may be worn at all, so no far end,
    and (1.2 - 0.1)/(0.3 + 0.3) · 1000 = 1833 km at the near one. With 0.31 mm gone 1.09/0.61 · 1000 = 1787 km
    and (1.19 + 0.1)/(0.31 - 0.3) · 1000 = 129 000 km.
    """
    limit = GaugeLimit(18.0, 16.5, LimitSense.MIN)
    start = SeriesEntry(odometer_km=0.0, is_new_part=True)
    open_end = forecast([start, SeriesEntry(17.7, 1000.0)], limit)
    assert (round(open_end.low or 0), open_end.high) == (1833, None)
    assert open_end.text == "At least 1800 km left; how far beyond can't be said from these readings yet."
    wide = forecast([start, SeriesEntry(17.69, 1000.0)], limit)
    assert (round(wide.low or 0), round(wide.high or 0)) == (1787, 129000)
    said = wide.text.replace("\N{NO-BREAK SPACE}", " ")
    assert said == "How much is left can't be said from these readings yet: between 1700 and 130 000 km."


def test_dates_stand_in_for_an_odometer() -> None:
    """1 mm in 100 days, 0.5 mm left: 50 days; 0.3 mm again after 30 days, near end 0.4 · 100/1.2 = 33."""
    entries = [SeriesEntry(18.0, on=date(2026, 1, 1)), SeriesEntry(17.0, on=date(2026, 4, 11))]
    answer = forecast(entries, GaugeLimit(18.0, 16.5, LimitSense.MIN))
    assert answer.axis is SeriesAxis.DAYS
    assert answer.remaining == pytest.approx(50.0)
    assert answer.measure_again_on == date(2026, 4, 11) + timedelta(days=30)
    assert answer.measure_again_km is None
    assert answer.text.startswith("About 50 days left")


def test_very_slow_wear_by_date_stays_within_the_calendar() -> None:
    entries = [SeriesEntry(18.0, on=date(2026, 1, 1)), SeriesEntry(17.9999999, on=date(2026, 1, 2))]
    assert forecast(entries).measure_again_on == date(2026, 1, 4)


@pytest.mark.parametrize(
    ("entries", "axis", "left_out"),
    [
        ([SeriesEntry(18.0, 0.0), SeriesEntry(17.5), SeriesEntry(17.0, 5000.0)], SeriesAxis.KM, 1),
        ([SeriesEntry(18.0, 0.0), SeriesEntry(17.0)], SeriesAxis.NONE, 1),
        (
            [SeriesEntry(18.0, on=date(2026, 1, 1)), SeriesEntry(17.0, 5000.0, on=date(2026, 4, 11))],
            SeriesAxis.DAYS,
            0,
        ),
        (
            [SeriesEntry(18.0, 100.0, on=date(2026, 1, 1)), SeriesEntry(17.0, on=date(2026, 4, 11))],
            SeriesAxis.DAYS,
            0,
        ),
        ([SeriesEntry(17.5), SeriesEntry(17.0, on=date(2026, 4, 11))], SeriesAxis.DAYS, 1),
    ],
)
def test_readings_without_a_place_are_left_out_and_named(
    entries: list[SeriesEntry], axis: SeriesAxis, left_out: int
) -> None:
    answer = forecast(entries)
    assert answer.axis is axis
    assert answer.reading_count == len(entries) - left_out
    assert (SeriesFindingCode.LEFT_OUT in codes(answer)) is bool(left_out)


def test_readings_at_one_distance_give_no_rate() -> None:
    answer = forecast(book((5000.0, 17.0), (5000.0, 17.1), (5000.0, 17.0)))
    assert answer.state is SeriesState.NO_RATE
    assert codes(answer) == [SeriesFindingCode.SAME_DISTANCE]


@pytest.mark.parametrize("entries", [[], [SeriesEntry(odometer_km=0.0, is_new_part=True)]])
def test_nothing_measured_asks_for_a_reading(entries: list[SeriesEntry]) -> None:
    assert forecast(entries).state is SeriesState.NO_READING


@pytest.mark.parametrize(
    ("limit", "found"),
    [
        (GaugeLimit(18.0, None, LimitSense.MIN), []),
        (GaugeLimit(None, 16.2, None), []),
        (GaugeLimit(18.0, 16.2, LimitSense.MAX), [SeriesFindingCode.LIMIT_CONTRADICTS]),
    ],
)
def test_missing_or_contradictory_limit_gives_no_forecast(
    limit: GaugeLimit, found: list[SeriesFindingCode]
) -> None:
    answer = forecast(FIVE, limit)
    assert answer.state is SeriesState.NO_LIMIT
    assert codes(answer) == found


def test_limit_without_a_size_when_new_is_enough_for_a_line() -> None:
    answer = forecast(FIVE, GaugeLimit(None, 16.2, LimitSense.MIN))
    assert answer.remaining == pytest.approx(3312.4847, abs=0.5)
