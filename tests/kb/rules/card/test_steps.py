"""Steps carry their cautions as data; figures come behind them.

Signal words as ANSI Z535.6 defines them (the standard not read); conversions: 1 lbf·ft = 1.3558179 N·m and
1 kgf·m = 9.80665 N·m, both exact by definition (NIST SP 811).
"""

import pytest

from kb.rules.card.fasteners import build_fasteners
from kb.rules.card.steps import build_steps, format_torque, is_tightening
from kb.rules.card.values import JobStep, StatedFastener
from kb.rules.source import SourceRef
from kb.rules.tools.cautions import (
    BELT_UNDER_NUT,
    COMPRESSED_SPRING,
    HOOKED_SPRINGS,
    IMPACT_TOOL,
    LINING_DUST,
    RUNNING_UNCOVERED,
    SOLVENT,
    SUPPORT_AND_IGNITION,
    TORQUE_FOLLOWS_MANUAL,
    Signal,
)
from kb.rules.tools.torque_band import TorqueBand
from kb.terms import Position, SourceKind

MANUAL = SourceRef("manual", SourceKind.MANUAL)
NUT = build_fasteners(
    [StatedFastener(Position.CRANK_NUT, MANUAL, torque=TorqueBand(35, 38, 41))], [Position.CRANK_NUT]
)


def cautions_of(step, fasteners=()):
    return build_steps([step], fasteners)[0].cautions


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Undo the crank nut.", False),
        ("Loosen the cover screws crosswise.", False),
        ("Push the face home and tighten to the value.", True),
        ("Refit the airbox and its screws.", True),
        ("Clamp the unit, start the nut by hand.", True),
    ],
)
def test_loosening_and_tightening_are_told_apart(text, expected):
    assert is_tightening(JobStep(1, text, Position.CRANK_NUT, fastener=True)) is expected


def test_a_figure_stands_only_where_something_is_tightened_and_behind_its_caution():
    steps = [
        JobStep(1, "Undo the nut.", Position.CRANK_NUT, fastener=True),
        JobStep(2, "Tighten the nut.", Position.CRANK_NUT, fastener=True),
    ]
    undo, tighten = build_steps(steps, NUT)
    assert undo.figures == ()
    assert TORQUE_FOLLOWS_MANUAL not in undo.cautions
    assert tighten.figures[0].text == "38 N·m (28.0 lbf·ft, 3.87 kgf·m), 35 to 41 N·m"
    assert {TORQUE_FOLLOWS_MANUAL, BELT_UNDER_NUT} <= set(tighten.cautions)


@pytest.mark.parametrize(
    ("step", "caution"),
    [
        (JobStep(1, "Pull the plug lead."), SUPPORT_AND_IGNITION),
        (JobStep(1, "Wipe.", caution="no compressed air"), LINING_DUST),
        (JobStep(1, "Clamp it.", tool="spring compressor"), COMPRESSED_SPRING),
        (JobStep(1, "Fit the set.", tool="spring hook"), HOOKED_SPRINGS),
        (JobStep(1, "Undo with an impact wrench."), IMPACT_TOOL),
        (JobStep(1, "Wipe.", consumable="brake cleaner"), SOLVENT),
        (JobStep(1, "Ride.", caution="Never start it with the cover off."), RUNNING_UNCOVERED),
        (JobStep(1, "Lift it.", Position.CONTRA_SPRING), COMPRESSED_SPRING),
    ],
)
def test_words_of_a_step_bring_their_caution(step, caution):
    assert caution in cautions_of(step)


def test_a_caution_of_the_job_sheet_that_nothing_else_says_is_kept_as_data():
    (found,) = cautions_of(JobStep(1, "Lift it.", caution="The case is heavy."))
    assert (found.signal, found.hazard) == (Signal.CAUTION, "The case is heavy.")
    assert found.basis == "job sheet of the shop"


def test_the_gravest_caution_comes_first():
    found = cautions_of(JobStep(1, "Tighten.", Position.CLUTCH_NUT, fastener=True), NUT)
    order = [list(Signal).index(item.signal) for item in found]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("band", "text"),
    [
        (TorqueBand(nominal_nm=40.0), "40 N·m (29.5 lbf·ft, 4.08 kgf·m)"),
        (TorqueBand(8.0, None, 12.0), "8 to 12 N·m (5.9 to 8.9 lbf·ft, 0.82 to 1.22 kgf·m)"),
        (TorqueBand(), "torque not known: look it up in the maker's manual"),
    ],
)
def test_a_torque_is_printed_as_stored_with_the_other_units_beside_it(band, text):
    assert format_torque(band) == text
