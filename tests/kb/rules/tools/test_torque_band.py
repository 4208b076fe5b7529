"""Source: judgement of this project: nothing is added to what was printed."""

import math

import pytest

from kb.errors import BadInput
from kb.rules.tools.torque_band import TorqueBand


@pytest.mark.parametrize(
    ("band", "lowest", "highest", "setting", "is_computed"),
    [
        (TorqueBand(36, 40, 44), 36, 44, 40, False),
        (TorqueBand(36, None, 44), 36, 44, 40, True),  # midpoint, marked computed
        (TorqueBand(None, 40, None), 40, 40, 40, False),  # one value makes no band
        (TorqueBand(36, 40, None), 36, 40, 40, False),
        (TorqueBand(None, 40, 44), 40, 44, 40, False),
        (TorqueBand(36, None, None), 36, None, None, False),
        (TorqueBand(None, None, 44), None, 44, None, False),
        (TorqueBand(), None, None, None, False),
        (TorqueBand(40, 40, 40), 40, 40, 40, False),
    ],
)
def test_only_what_is_printed_is_known(band, lowest, highest, setting, is_computed):
    assert (band.lowest_nm, band.highest_nm, band.setting_nm) == (lowest, highest, setting)
    assert band.is_setting_computed is is_computed
    assert band.is_known is (setting is not None)


@pytest.mark.parametrize("value", [0.0, -5.0, math.nan, math.inf])
def test_value_that_is_no_torque_is_refused(value):
    with pytest.raises(BadInput, match="is not a torque"):
        TorqueBand(nominal_nm=value)


@pytest.mark.parametrize(("low", "nominal", "high"), [(44, None, 36), (41, 40, None), (None, 40, 39.9)])
def test_values_out_of_order_are_refused(low, nominal, high):
    with pytest.raises(BadInput, match="not in rising order"):
        TorqueBand(low, nominal, high)
