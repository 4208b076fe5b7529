"""What has to come apart for a measurement: common practice, no source."""

import pytest

from kb.rules.measurement_question import Ease, find_ease, find_question


@pytest.mark.parametrize(
    ("quantity", "how", "ease"),
    [
        ("case_length", None, Ease.COVER_ON),
        ("case_length", "Cover off: caliper", Ease.COVER_OFF),
        ("roller_diameter", None, Ease.DRIVE_APART),
        ("roller_diameter", "from outside through the plug", Ease.COVER_ON),
        ("stud_spacing", None, Ease.COVER_OFF),
        ("stud_spacing", "drive apart, caliper", Ease.DRIVE_APART),
        ("boss_diameter", "caliper across the sleeve, cover and front face off", Ease.DRIVE_APART),
        ("shaft_length", "depth rod, wheel off", Ease.DRIVE_APART),
        ("stud_spacing", "with the drive cover taken off", Ease.COVER_OFF),
        ("cover_screw_count", "count the screws round the drive cover", Ease.COVER_ON),
        ("wheel_diameter", "", Ease.COVER_ON),
    ],
)
def test_ease_comes_from_the_text_then_from_the_quantity(quantity: str, how: str | None, ease: Ease) -> None:
    assert find_ease(quantity, how=how) is ease


def test_known_quantity_has_its_own_question_and_place_to_measure() -> None:
    question, how = find_question("case_length")
    assert question == "How long is the drive case?"
    assert how is not None
    assert "straight edge" in how


def test_other_quantity_is_asked_for_by_its_name() -> None:
    assert find_question("stud_spacing") == ("What is the stud spacing?", None)
