"""Sources: T = K d F (published formula) on ISO 898-1 loads; 1 kgf·m = 9.80665 N·m.

The limits are a judgement of this project.
"""

import pytest

from kb.errors import BadInput
from kb.rules.tools.torque_sanity import UNMARKED_CLASS, compare_torque_with_thread


@pytest.mark.parametrize(
    ("torque", "state"),
    [  # M12x1.25 class 10.9: 0.20 x 12 mm x 0.75 x 92.1 mm2 x 830 MPa = 137.6 N·m; a tenth is 13.76
        (13.7, "too_low"),
        (13.77, "plausible"),
        (40.0, "plausible"),
        (137.6, "plausible"),
        (137.7, "too_high"),
    ],
)
def test_torque_is_plausible_from_a_tenth_to_the_generic_torque(torque, state):
    result = compare_torque_with_thread(torque, diameter_mm=12.0, pitch_mm=1.25)
    assert result.state == state
    assert result.highest_nm == 137.6
    assert result.lowest_nm == pytest.approx(13.76)
    assert result.label == "generic, class 10.9 assumed; not a manual value"


@pytest.mark.parametrize(
    ("property_class", "state"),
    [(UNMARKED_CLASS, "too_high"), ("8.8", "plausible"), (None, "plausible")],
)
def test_unmarked_m6_screw_bears_less(property_class, state):
    # M6: 5.6 N·m for 4.8, 10.5 for 8.8, 15.0 for 10.9 (formula)
    # an unmarked screw counts as 4.8: common practice, no source
    result = compare_torque_with_thread(10.0, diameter_mm=6.0, pitch_mm=1.0, property_class=property_class)
    assert result.state == state
    assert ("stated" in result.label) is (property_class is not None)


@pytest.mark.parametrize(
    ("torque", "hints"),
    [
        # 400 kgf·cm = 39.2 N·m, 400 lbf·in = 45.2 N·m: both explain 400 on M12x1.25
        (400.0, ["400 kgf·cm, it is 39.2 N·m", "400 lbf·in, it is 45.2 N·m"]),
        (1300.0, ["1300 kgf·cm, it is 127.5 N·m"]),  # 1300 lbf·in would be 146.9, again too high
        (5000.0, []),  # no slip explains it
        (4.0, ["4 kgf·m, it is 39.2 N·m"]),
        (1.0, []),  # 1 kgf·m = 9.8 N·m is still below a tenth
        (40.0, []),
    ],
)
def test_slip_of_unit_is_named_when_it_explains_the_value(torque, hints):
    result = compare_torque_with_thread(torque, diameter_mm=12.0, pitch_mm=1.25)
    assert len(result.hints) == len(hints)
    for hint, part in zip(result.hints, hints, strict=True):
        assert part in hint


@pytest.mark.parametrize(
    ("diameter", "pitch", "property_class"), [(11.0, 1.25, None), (12.0, 1.3, None), (12.0, 1.25, "7.7")]
)
def test_thread_or_class_outside_the_tables_is_not_known(diameter, pitch, property_class):
    result = compare_torque_with_thread(
        40.0, diameter_mm=diameter, pitch_mm=pitch, property_class=property_class
    )
    assert (result.state, result.lowest_nm, result.highest_nm) == ("not_known", None, None)
    assert "nothing was checked" in result.text


@pytest.mark.parametrize(
    ("torque", "word"), [(400.0, "is above 137.6 N·m"), (4.0, "is below 13.8 N·m"), (40.0, "is plausible")]
)
def test_text_says_what_was_compared(torque, word):
    assert word in compare_torque_with_thread(torque, diameter_mm=12.0, pitch_mm=1.25).text


@pytest.mark.parametrize("torque", [0.0, -1.0, float("nan")])
def test_value_that_is_no_torque_is_refused(torque):
    with pytest.raises(BadInput, match="is not a torque"):
        compare_torque_with_thread(torque, diameter_mm=12.0, pitch_mm=1.25)
