"""Rollers: diameter, width and number must match; another mass moves the shift speed.

Source: n_new = n_old·√(m_old/m_new), force balance of a roller between ramp and plate
(``kb.mechanics.rollers``); the limits are judgement of this project.
"""

import math

from kb.rules.fit.findings import Findings, Numbers, say_change
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import SLACK, FitLimits
from kb.rules.fit.values import Consequence, Judgement, PartSize, RollerNeed
from kb.rules.said_figures import say_printed_change
from kb.terms import EvidenceKind, Outcome

NOTICED_PERCENT = 0.05


def judge_rollers(asked: PartSize, need: RollerNeed, limits: FitLimits) -> Judgement:
    """Whether a roller set fits; masses in g of one roller."""
    found = Findings(need.source)
    size_mm = limits.roller_size_mm
    found.add_match(ReasonCode.ROLLER_DIAMETER, asked.diameter_mm, need.diameter_mm, limit=size_mm, unit="mm")
    found.add_match(ReasonCode.ROLLER_WIDTH, asked.width_mm, need.width_mm, limit=size_mm, unit="mm")
    _judge_count(found, asked, need)
    _judge_mass(found, asked, need, limits)
    return found.judge(EvidenceKind.SIZE, "Rollers compared by diameter, width, number and mass.")


def _judge_count(found: Findings, asked: PartSize, need: RollerNeed) -> None:
    """The number, where it was stated; a size asked about without one is judged on the rest."""
    if asked.count is None and need.count is not None:
        found.cautions.append(
            f"The number of rollers was not stated; the engine needs {need.count}, check that the set "
            "holds as many."
        )
    else:
        found.add_match(ReasonCode.ROLLER_COUNT, asked.count, need.count, limit=0, unit="")


def _judge_mass(found: Findings, asked: PartSize, need: RollerNeed, limits: FitLimits) -> None:
    if not found.note_missing(ReasonCode.ROLLER_MASS, asked=asked.mass_g, need=need.mass_g):
        return
    if asked.mass_g is None or need.mass_g is None:
        return
    difference_percent = (asked.mass_g / need.mass_g - 1) * 100
    same = abs(difference_percent) <= limits.roller_mass_percent + SLACK
    found.add(
        ReasonCode.ROLLER_MASS,
        Outcome.FITS if same else Outcome.FITS_WITH_CHANGE,
        f"One roller {asked.mass_g:g} g against {need.mass_g:g} g needed: "
        f"{say_change(difference_percent, limits.roller_mass_percent)}.",
        numbers=Numbers(round(difference_percent, 2), limits.roller_mass_percent, "%"),
    )
    if any(reason.outcome is Outcome.DOES_NOT_FIT for reason in found.reasons):
        return  # rollers that do not go in do not shift
    change_percent = (math.sqrt(need.mass_g / asked.mass_g) - 1) * 100
    found.consequences.append(
        Consequence("shift_speed", _say_shift(change_percent), round(change_percent, 2) + 0.0)
    )
    if not same:
        found.cautions.append(
            "NOTICE: rollers of another mass change speed and engine revolutions and may break local type "
            "approval, insurance or speed-class rules; the maker's manual decides."
        )


def _say_shift(change_percent: float) -> str:
    if abs(change_percent) < NOTICED_PERCENT:
        return "Shift speed unchanged."
    way = "higher" if change_percent > 0 else "lower"
    return (
        f"Shifts up at {say_printed_change(change_percent)} {way} engine speed, reckoned for the same ramps."
    )
