"""Source: T = K d F with K of published bands: dry 0.20, oiled 0.15, greased 0.12."""

import pytest

from kb.errors import BadInput
from kb.rules.tools.lubrication import ThreadCondition, convert_torque_for_lubrication

DRY = ThreadCondition.DRY
OILED = ThreadCondition.OILED
GREASED = ThreadCondition.GREASED
LOCKING = ThreadCondition.LOCKING_COMPOUND
UNKNOWN = ThreadCondition.UNKNOWN


@pytest.mark.parametrize(("found", "torque"), [(OILED, 30.0), (GREASED, 24.0)])
def test_torque_stated_dry_is_reduced_for_a_slippery_thread(found, torque):
    # 40 x 0.15 / 0.20 = 30, 40 x 0.12 / 0.20 = 24
    answer = convert_torque_for_lubrication(40.0, printed_for=DRY, found=found)
    assert answer.torque_nm == pytest.approx(torque)
    assert answer.is_corrected
    assert answer.warning.startswith("Computed")


@pytest.mark.parametrize("condition", [DRY, OILED, GREASED, LOCKING])
def test_torque_for_the_condition_in_hand_is_used_as_printed(condition):
    answer = convert_torque_for_lubrication(40.0, printed_for=condition, found=condition)
    assert (answer.torque_nm, answer.is_corrected, answer.warning) == (40.0, False, None)


@pytest.mark.parametrize(
    ("printed_for", "found", "word"),
    [
        (UNKNOWN, OILED, "does not say"),  # no condition stated: none is assumed
        (UNKNOWN, DRY, "does not say"),
        (UNKNOWN, UNKNOWN, "does not say"),
        (DRY, UNKNOWN, "bring the thread into that condition"),
        (OILED, DRY, "never corrected"),  # nothing is raised
        (OILED, GREASED, "never corrected"),  # never corrected twice
        (LOCKING, OILED, "never corrected"),
        (DRY, LOCKING, "'locking compound'"),
    ],
)
def test_otherwise_the_printed_torque_stands_with_a_warning(printed_for, found, word):
    answer = convert_torque_for_lubrication(40.0, printed_for=printed_for, found=found)
    assert (answer.torque_nm, answer.is_corrected) == (40.0, False)
    assert word in answer.warning


@pytest.mark.parametrize("torque", [0.0, -1.0, float("nan")])
def test_value_that_is_no_torque_is_refused(torque):
    with pytest.raises(BadInput, match="is not a torque"):
        convert_torque_for_lubrication(torque, printed_for=DRY, found=OILED)
