"""Sources: signal words of ANSI Z535.6 / ISO 3864 as published pages give them.

Which step needs which caution: common practice, no source.
"""

import pytest

from kb.rules.tools import cautions
from kb.rules.tools.cautions import (
    CATALOGUE,
    CAUTIONS_OF_POSITION,
    GENERAL_CAUTION,
    SIGNAL_ORDER,
    Caution,
    Signal,
    cautions_for_job,
    cautions_for_position,
    cautions_for_torque,
    rank_cautions,
)
from kb.terms import Hand, Position, SourceKind


def test_only_the_four_standard_signal_words_are_used():
    assert [signal.value for signal in Signal] == ["DANGER", "WARNING", "CAUTION", "NOTICE"]


def test_catalogue_is_closed_and_every_caution_is_whole():
    defined = {value for value in vars(cautions).values() if isinstance(value, Caution)}
    assert defined == set(CATALOGUE)
    assert len(CATALOGUE) == 21
    for caution in CATALOGUE:
        for part in (caution.hazard, caution.consequence, caution.avoidance):
            assert part[0].isupper()
            assert part.endswith(".")
        assert caution.basis


def test_text_puts_the_signal_word_first_and_how_to_avoid_it_last():
    caution = Caution(Signal.CAUTION, "The exhaust is hot.", "It burns.", "Let it cool.")
    assert caution.as_text() == "CAUTION: The exhaust is hot. It burns. Let it cool."


def test_every_position_is_listed_and_uses_the_catalogue_gravest_first():
    assert set(CAUTIONS_OF_POSITION) == set(Position)
    for position in Position:
        found = cautions_for_position(position)
        assert set(found) <= set(CATALOGUE)
        assert found == rank_cautions(found)


@pytest.mark.parametrize(
    "position",
    [
        Position.CLUTCH_NUT,
        Position.CONTRA_SPRING,
        Position.TORQUE_DRIVER,
        Position.CLUTCH_SHOES,
        Position.GUIDE_PINS,
        Position.DRIVEN_NEEDLE_BEARING,
    ],
)
def test_work_that_frees_the_contra_spring_warns_of_it(position):
    # trade fact, common practice, no source: the spring under the clutch nut is compressed
    warning = cautions_for_position(position)[0]
    assert warning is cautions.COMPRESSED_SPRING
    assert warning.signal is Signal.WARNING
    assert "compressed" in warning.hazard


@pytest.mark.parametrize("position", [Position.CRANK_NUT, Position.BELL_NUT, Position.CLUTCH_NUT])
def test_large_nuts_warn_of_impact_tools(position):
    assert cautions.IMPACT_TOOL in cautions_for_position(position)
    assert "torque wrench" in cautions.IMPACT_TOOL.avoidance


@pytest.mark.parametrize(
    ("caution", "signal", "word"),
    [  # signal word and core of each step that has been agreed on for safety wording
        (cautions.COMPRESSED_SPRING, "WARNING", "relax slowly"),
        (cautions.LINING_DUST, "CAUTION", "never blow it out with air"),
        (cautions.LINING_DUST, "CAUTION", "asbestos"),
        (cautions.RUNNING_UNCOVERED, "WARNING", "Do not run the engine with the cover off"),
        (cautions.HOT_PARTS, "CAUTION", "cool down"),
        (cautions.SINGLE_USE, "NOTICE", "Fit a new one"),
        (cautions.CHANGED_TUNING, "NOTICE", "type-approval"),
        (cautions.SOLVENT, "WARNING", "Ventilate"),
        (cautions.SUPPORT_AND_IGNITION, "WARNING", "plug cap"),
        (cautions.LIMITING_BAR, "WARNING", "does not measure"),
        (cautions.TORQUE_FOLLOWS_MANUAL, "WARNING", "the manual is right"),
        (cautions.TORQUE_NOT_VERIFIED, "WARNING", "unverified"),
    ],
)
def test_caution_carries_its_signal_word_and_core(caution, signal, word):
    assert caution.as_text().startswith(f"{signal}: ")
    assert word in caution.as_text()


def test_every_job_carries_the_cautions_of_opening_a_drive():
    texts = " ".join(caution.as_text() for caution in cautions_for_job())
    for word in ("plug cap", "cover off", "Ventilate", "cool down", "dust mask"):
        assert word in texts
    assert rank_cautions(cautions_for_job()) == cautions_for_job()


def test_general_caution_defers_to_manual_rules_and_licensed_practice():
    for word in ("training", "maker's manual", "local rules", "licensed practice"):
        assert word in GENERAL_CAUTION


@pytest.mark.parametrize(
    ("source", "verified"),
    [
        (SourceKind.MANUAL, True),
        (SourceKind.STANDARD, True),
        (SourceKind.MEASURED, False),
        (SourceKind.SUPPLIER, False),
        (SourceKind.COMMON_PRACTICE, False),
        (SourceKind.ESTIMATE, False),
        (SourceKind.NOT_STATED, False),
        (None, False),
    ],
)
def test_torque_without_a_published_source_is_called_unverified(source, verified):
    found = cautions_for_torque(source, is_known=True)
    assert (cautions.TORQUE_NOT_VERIFIED not in found) is verified
    assert cautions.TORQUE_FOLLOWS_MANUAL in found


@pytest.mark.parametrize("source", [SourceKind.MANUAL, None])
def test_unknown_torque_says_not_to_guess(source):
    assert cautions_for_torque(source, is_known=False) == (cautions.TORQUE_NOT_KNOWN,)


@pytest.mark.parametrize(
    ("extra", "caution"),
    [
        ({"hand": Hand.LEFT}, cautions.LEFT_HAND_THREAD),
        ({"hand": Hand.UNKNOWN}, cautions.UNKNOWN_HAND),
        ({"single_use": True}, cautions.SINGLE_USE),
        ({"locking": True}, cautions.LOCKING_COMPOUND),
    ],
)
def test_what_is_special_about_the_fastener_adds_its_caution(extra, caution):
    plain = cautions_for_torque(SourceKind.MANUAL, is_known=True)
    found = cautions_for_torque(SourceKind.MANUAL, is_known=True, **extra)
    assert found == (*plain, caution)
    assert rank_cautions(found) == found


def test_ranking_keeps_each_caution_once_gravest_first():
    mixed = [cautions.SINGLE_USE, cautions.HOT_PARTS, cautions.SOLVENT, cautions.HOT_PARTS]
    assert rank_cautions(mixed) == (cautions.SOLVENT, cautions.HOT_PARTS, cautions.SINGLE_USE)
    assert SIGNAL_ORDER[0] is Signal.DANGER
