"""Sources: 30 lbf·ft = 40.67 N·m (NIST SP 811 factor); what such a bar is not for: published articles.

The limits are a judgement of this project.
"""

import pytest

from kb.errors import BadInput
from kb.rules.tools.torque_band import TorqueBand
from kb.rules.tools.torque_limiting_bar import (
    FINISH_TEXT,
    LOOK_AT_SWITCH_TEXT,
    UNKNOWN_HAND_TEXT,
    BarUse,
    rank_limiting_bar,
)
from kb.terms import Hand

NUT = BarUse(thread_diameter_mm=12.0, hand=Hand.RIGHT)


@pytest.mark.parametrize(
    ("bar", "band", "reasons"),
    [
        # 0.8 x 50 = 40 and 1.25 x 40 = 50: the limits themselves still allow the bar
        (40.0, TorqueBand(nominal_nm=50.0), 0),
        (40.1, TorqueBand(nominal_nm=50.0), 2),
        (40.0, TorqueBand(45.0, 50.0, 55.0), 0),
        (40.1, TorqueBand(45.0, 50.0, 55.0), 1),  # above 80 % of the target only
        (40.0, TorqueBand(None, 50.0, 50.0), 0),
        (29.0, TorqueBand(nominal_nm=36.25), 0),  # 0.8 x 36.25 = 29
        (40.67, TorqueBand(45.0, None, 57.0), 0),  # midpoint 51: 80 % is 40.8; 1.25 x 40.67 = 50.8
        (40.67, TorqueBand(45.0, None, 56.0), 1),
        (40.67, TorqueBand(min_nm=60.0), 1),
        (40.67, TorqueBand(), 1),
    ],
)
def test_bar_must_stay_below_the_maximum_and_aim_low(bar, band, reasons):
    answer = rank_limiting_bar(bar, band, use=NUT)
    assert len(answer.reasons) == reasons
    assert answer.is_allowed is (reasons == 0)


def test_thirty_pound_force_feet_mean_30_to_51_newton_metres():
    # +-25 %: judgement of this project
    answer = rank_limiting_bar(40.67, TorqueBand(nominal_nm=60.0), use=NUT)
    assert (round(answer.lowest_nm, 1), round(answer.highest_nm, 1)) == (30.5, 50.8)


@pytest.mark.parametrize(
    ("use", "word"),
    [
        (BarUse(thread_diameter_mm=8.0, hand=Hand.RIGHT), "smaller than M10"),
        (BarUse(thread_diameter_mm=9.99, hand=Hand.RIGHT), "smaller than M10"),
        (BarUse(thread_diameter_mm=None, hand=Hand.RIGHT), "thread is not known"),
        (BarUse(thread_diameter_mm=12.0, aluminium_thread=True), "aluminium"),
        (BarUse(thread_diameter_mm=12.0, tapered_or_splined=True), "splines"),
        (BarUse(thread_diameter_mm=12.0, single_use=True), "single-use"),
        (BarUse(thread_diameter_mm=12.0, loosening=True), "loosening"),
    ],
)
def test_bar_is_refused_with_its_reason(use, word):
    answer = rank_limiting_bar(40.67, TorqueBand(nominal_nm=60.0), use=use)
    assert not answer.is_allowed
    (reason,) = answer.reasons
    assert word in reason


def test_thread_of_ten_millimetres_is_large_enough():
    use = BarUse(thread_diameter_mm=10.0, hand=Hand.RIGHT)
    assert rank_limiting_bar(20.0, TorqueBand(nominal_nm=60.0), use=use).is_allowed


@pytest.mark.parametrize(
    ("hand", "first"),
    [(Hand.LEFT, LOOK_AT_SWITCH_TEXT), (Hand.UNKNOWN, UNKNOWN_HAND_TEXT)],
)
def test_left_or_unknown_hand_must_be_looked_at_first(hand, first):
    use = BarUse(thread_diameter_mm=12.0, hand=hand)
    assert rank_limiting_bar(40.67, TorqueBand(nominal_nm=60.0), use=use).conditions[0] == first


@pytest.mark.parametrize("nominal", [45.0, 60.0])
def test_every_answer_tells_to_finish_with_a_torque_wrench(nominal):
    assert rank_limiting_bar(40.67, TorqueBand(nominal_nm=nominal), use=NUT).conditions[-1] == FINISH_TEXT


@pytest.mark.parametrize("bar", [0.0, -1.0, float("nan")])
def test_bar_without_a_value_is_refused(bar):
    with pytest.raises(BadInput, match="write its marked value"):
        rank_limiting_bar(bar, TorqueBand(nominal_nm=60.0), use=NUT)
