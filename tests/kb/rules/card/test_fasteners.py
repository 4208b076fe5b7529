"""Fasteners on the bench card: order of the job, sources side by side, torques checked, never filled in.

Source of the generic torques: ISO 898-1 tables by way of T = K d F; that a second manual does not overrule
the first: judgement of this project.
"""

import pytest

from kb.rules.card.fasteners import (
    build_fasteners,
    check_torque,
    find_condition,
    find_generic_limit,
    find_thread,
    list_fastener_positions,
)
from kb.rules.card.values import JobStep, StatedFastener
from kb.rules.source import SourceRef
from kb.rules.tools.cautions import (
    LEFT_HAND_THREAD,
    LIMITING_BAR,
    LOCKING_COMPOUND,
    SINGLE_USE,
    TORQUE_FOLLOWS_MANUAL,
    TORQUE_NOT_KNOWN,
    TORQUE_NOT_VERIFIED,
    UNKNOWN_HAND,
)
from kb.rules.tools.owned_tool import OwnedTool
from kb.rules.tools.torque_band import TorqueBand
from kb.terms import Hand, Position, SourceKind, ToolKind

MANUAL = SourceRef("manual", SourceKind.MANUAL)
NOTE = SourceRef("note", SourceKind.MANUAL)
HABIT = SourceRef("habit", SourceKind.COMMON_PRACTICE)


def state(source=MANUAL, **values):
    return StatedFastener(values.pop("position", Position.CRANK_NUT), source, **values)


def build(*rows, tools=()):
    return build_fasteners(rows, list(dict.fromkeys(row.position for row in rows)), tools=tools)


def test_fasteners_stand_in_the_order_of_the_job():
    steps = [
        JobStep(1, "Undo.", Position.COVER_SCREWS, fastener=True),
        JobStep(2, "Look.", Position.DRIVE_BELT),
        JobStep(3, "Undo.", Position.CRANK_NUT, fastener=True),
        JobStep(4, "Tighten.", Position.COVER_SCREWS, fastener=True),
    ]
    assert list_fastener_positions(steps) == (Position.COVER_SCREWS, Position.CRANK_NUT)


def test_two_sources_with_different_torques_both_stand_and_none_is_chosen():
    found = build(
        state(torque=TorqueBand(35, 38, 41)), state(NOTE, torque=TorqueBand(nominal_nm=43.0), hand=Hand.RIGHT)
    )
    assert [item.stated.source.source for item in found] == ["manual", "note"]
    assert [item.differs for item in found] == [("torque_nm",), ("torque_nm",)]


def test_a_source_that_only_repeats_is_named_as_agreeing():
    found = build(
        state(torque=TorqueBand(35, 38, 41), thread="M10x1.25"), state(NOTE, torque=TorqueBand(nominal_nm=38))
    )
    assert len(found) == 1
    assert [source.source for source in found[0].agreeing] == ["note"]
    assert found[0].differs == ()


def test_a_source_that_adds_a_torque_stands_beside_the_one_without():
    found = build(state(thread="M10x1.25"), state(NOTE, torque=TorqueBand(nominal_nm=38)))
    assert [item.stated.torque.nominal_nm for item in found] == [None, 38]
    assert all(item.differs == () for item in found)


def test_unknown_torque_stays_unknown_with_an_upper_limit_labelled_generic():
    (found,) = build(state(thread="M10x1.25", hand=Hand.RIGHT))
    assert not found.stated.torque.is_known
    # ISO 898-1, class 10.9, K 0.20: 76.2 N·m for M10x1.25.
    assert found.generic_limit.highest_nm == 76.2
    assert "generic, class 10.9 assumed; not a manual value" in found.generic_limit.text
    assert TORQUE_NOT_KNOWN in found.cautions


@pytest.mark.parametrize("thread", [None, "M28x1-LH?", "1/4-20"])
def test_no_upper_limit_for_a_thread_that_is_not_known(thread):
    assert find_generic_limit(find_thread(thread)) is None


@pytest.mark.parametrize(
    ("position", "stated", "thread", "hand"),
    [
        (Position.CRANK_NUT, None, "M10x1.25", Hand.UNKNOWN),
        (Position.CRANK_NUT, None, "M10x1.25 LH", Hand.LEFT),
        (Position.CRANK_NUT, Hand.RIGHT, None, Hand.RIGHT),
        (Position.COVER_SCREWS, None, "M6", Hand.UNKNOWN),
    ],
)
def test_hand_is_as_stated_or_unknown(position, stated, thread, hand):
    (found,) = build(state(position=position, hand=stated, thread=thread))
    assert found.hand is hand


def test_cautions_follow_hand_single_use_locking_and_source():
    (found,) = build(
        state(
            HABIT,
            hand=Hand.LEFT,
            single_use=True,
            locking="thread-locking compound, medium",
            torque=TorqueBand(nominal_nm=40),
        )
    )
    wanted = {LEFT_HAND_THREAD, SINGLE_USE, LOCKING_COMPOUND, TORQUE_NOT_VERIFIED, TORQUE_FOLLOWS_MANUAL}
    assert wanted <= set(found.cautions)


def test_unknown_hand_prints_a_caution():
    (found,) = build(state(torque=TorqueBand(nominal_nm=40)))
    assert UNKNOWN_HAND in found.cautions


@pytest.mark.parametrize(
    ("torque", "thread", "expected"),
    [
        # ISO 898-1: M12x1.25 class 10.9 bears 137.6 N·m at K 0.20; a tenth is 13.76.
        (137.6, "M12x1.25", "plausible"),
        (137.7, "M12x1.25", "too_high"),
        (13.8, "M12x1.25", "plausible"),
        (13.7, "M12x1.25", "too_low"),
        (5.5, "M28x1.5", "too_low"),
        (55.0, "M28x1.5", "plausible"),
    ],
)
def test_a_stored_torque_is_checked_against_its_thread(torque, thread, expected):
    assert check_torque(torque, find_thread(thread)).state.value == expected


def test_kgf_m_stored_as_newton_metres_is_explained():
    # 5.5 kgf·m = 53.9 N·m by definition.
    assert check_torque(5.5, find_thread("M28x1.5")).hints == (
        "If the source prints 5.5 kgf·m, it is 53.9 N·m.",
    )


def test_bar_of_the_shop_is_judged_for_shaft_nuts_only():
    bar = OwnedTool("bar 30", ToolKind.TORQUE_STICK, min_nm=40.67, max_nm=40.67)
    row = {"thread": "M12x1.25", "hand": Hand.RIGHT, "torque": TorqueBand(50, 55, 60)}
    (nut,) = build(state(**row), tools=[bar])
    (screw,) = build(state(position=Position.COVER_SCREWS, **row), tools=[bar])
    assert [item.answer.is_allowed for item in nut.bars] == [True]
    assert LIMITING_BAR in nut.cautions
    assert screw.bars == ()


@pytest.mark.parametrize(
    ("locking", "condition"),
    [
        ("thread-locking compound, medium", "locking_compound"),
        ("oiled", "oiled"),
        ("dry", "dry"),
        ("spring washer", "unknown"),
        (None, "unknown"),
    ],
)
def test_condition_of_the_thread_is_read_from_the_words_on_locking(locking, condition):
    assert find_condition(locking).value == condition
