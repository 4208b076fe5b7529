"""Source: statics, worked by hand beside each case."""

import pytest

from kb.errors import BadInput
from kb.rules.tools.crowfoot import convert_to_crowfoot_setting


@pytest.mark.parametrize(
    ("target", "lever", "offset", "angle", "setting"),
    [
        (55.0, 400.0, 50.0, 0.0, 48.889),  # 55 x 400 / 450
        (55.0, 400.0, 50.0, 90.0, 55.0),  # across the handle nothing changes
        (55.0, 400.0, 50.0, -90.0, 55.0),
        (55.0, 400.0, 50.0, 180.0, 62.857),  # 55 x 400 / 350
        (55.0, 400.0, 50.0, 60.0, 51.765),  # 55 x 400 / 425
        (55.0, 400.0, 0.0, 0.0, 55.0),  # a straight extension
    ],
)
def test_setting_makes_the_nut_get_the_target(target, lever, offset, angle, setting):
    result = convert_to_crowfoot_setting(target, lever_mm=lever, offset_mm=offset, angle_deg=angle)
    assert result == pytest.approx(setting, abs=0.001)


@pytest.mark.parametrize(
    ("target", "lever", "offset", "angle", "message"),
    [
        (0.0, 400.0, 50.0, 0.0, "is not a torque"),
        (float("nan"), 400.0, 50.0, 0.0, "is not a torque"),
        (55.0, 0.0, 0.0, 0.0, "shorter than the lever"),
        (55.0, 400.0, -1.0, 0.0, "shorter than the lever"),
        (55.0, 400.0, 400.0, 180.0, "shorter than the lever"),
        (55.0, 400.0, 50.0, 180.1, "write -180 to 180"),
        (55.0, 400.0, 50.0, -180.1, "write -180 to 180"),
    ],
)
def test_values_out_of_range_are_refused(target, lever, offset, angle, message):
    with pytest.raises(BadInput, match=message):
        convert_to_crowfoot_setting(target, lever_mm=lever, offset_mm=offset, angle_deg=angle)
