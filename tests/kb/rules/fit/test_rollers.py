"""Rollers: what must match, what may differ, and the shift speed.

Source: n_new = n_old * sqrt(m_old / m_new), force balance of a roller between ramp and plate; limits of
0.15 mm and 2 % are documented settings of this project (judgement).
"""

from dataclasses import replace

import pytest

from kb.rules.fit.rollers import judge_rollers
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import PartSize, RollerNeed
from kb.rules.source import SourceRef
from kb.terms import SourceKind

NEED = RollerNeed(SourceRef("book", SourceKind.MANUAL), 16.0, 13.0, 7.0, 6)
SAME = PartSize(diameter_mm=16.0, width_mm=13.0, mass_g=7.0, count=6)
LIMITS = FitLimits()


@pytest.mark.parametrize(
    ("change", "outcome"),
    [
        ({}, "fits"),
        ({"diameter_mm": 16.15}, "fits"),
        ({"diameter_mm": 16.16}, "does_not_fit"),
        ({"diameter_mm": 15.85}, "fits"),
        ({"diameter_mm": 15.84}, "does_not_fit"),
        ({"width_mm": 13.15}, "fits"),
        ({"width_mm": 12.84}, "does_not_fit"),
        ({"count": 3}, "does_not_fit"),
        ({"mass_g": 7.14}, "fits"),
        ({"mass_g": 7.15}, "fits_with_change"),
        ({"mass_g": 6.86}, "fits"),
        ({"mass_g": 6.85}, "fits_with_change"),
        ({"mass_g": None}, "not_known"),
        ({"diameter_mm": None}, "not_known"),
        ({"width_mm": None}, "not_known"),
        ({"width_mm": None, "diameter_mm": 18.0}, "does_not_fit"),
    ],
)
def test_limits(change: dict[str, float | None], outcome: str) -> None:
    assert judge_rollers(replace(SAME, **change), NEED, LIMITS).outcome == outcome


@pytest.mark.parametrize(("mass_g", "percent"), [(6.0, 8.01), (8.0, -6.46), (7.0, 0.0), (6.9, 0.72)])
def test_shift_speed_follows_the_root_of_the_masses(mass_g: float, percent: float) -> None:
    judged = judge_rollers(replace(SAME, mass_g=mass_g), NEED, LIMITS)
    (consequence,) = judged.consequences
    assert (consequence.quantity, consequence.change_percent) == ("shift_speed", percent)


def test_rollers_that_do_not_go_in_have_no_shift_speed() -> None:
    judged = judge_rollers(replace(SAME, mass_g=6.0, count=3), NEED, LIMITS)
    assert judged.consequences == ()


def test_rollers_without_a_count_are_judged_and_the_count_needed_is_said() -> None:
    judged = judge_rollers(replace(SAME, count=None), NEED, LIMITS)
    assert (judged.outcome, judged.is_firm) == ("fits", True)
    assert any("needs 6" in text for text in judged.cautions)


@pytest.mark.parametrize("missing", ["diameter_mm", "width_mm", "mass_g", "count"])
def test_number_missing_in_the_need_is_not_known_and_named(missing: str) -> None:
    judged = judge_rollers(SAME, replace(NEED, **{missing: None}), LIMITS)
    assert judged.outcome == "not_known"
    assert [item.quantity for item in judged.measure_next] == [missing]


def test_each_reason_shows_value_limit_and_source() -> None:
    reasons = {str(r.rule): r for r in judge_rollers(replace(SAME, mass_g=6.0), NEED, LIMITS).reasons}
    assert (reasons["rollers.mass"].value, reasons["rollers.mass"].limit) == (-14.29, 2.0)
    assert reasons["rollers.diameter"].text == "Diameter 16 mm against 16 mm needed: the same."
    assert {reason.source for reason in reasons.values()} == {"book"}
    fewer = judge_rollers(replace(SAME, count=3), NEED, LIMITS).reasons[2].text
    assert fewer == "Number of rollers 3 against 6 needed: 3 less, it must be the same."


def test_another_mass_carries_the_notice_on_approval() -> None:
    assert any("approval" in text for text in judge_rollers(replace(SAME, mass_g=6.0), NEED, LIMITS).cautions)
    assert judge_rollers(SAME, NEED, LIMITS).cautions == ()
