"""Source: common practice, no source."""

import pytest

from kb.rules.tools.cautions import LEFT_HAND_THREAD, UNKNOWN_HAND
from kb.rules.tools.hand import find_hand_caution, settle_hand
from kb.terms import FASTENER_POSITIONS, Hand, Position


@pytest.mark.parametrize(
    ("position", "stated", "hand"),
    [
        (Position.CRANK_NUT, None, Hand.UNKNOWN),
        (Position.BELL_NUT, None, Hand.UNKNOWN),
        (Position.CLUTCH_NUT, None, Hand.UNKNOWN),
        (Position.COVER_SCREWS, None, Hand.RIGHT),
        (Position.AIRBOX_SCREWS, None, Hand.RIGHT),
        (Position.CRANK_NUT, Hand.RIGHT, Hand.RIGHT),
        (Position.CRANK_NUT, Hand.LEFT, Hand.LEFT),
        (Position.COVER_SCREWS, Hand.UNKNOWN, Hand.UNKNOWN),
    ],
)
def test_unstated_hand_is_unknown_only_on_a_rotating_shaft(position, stated, hand):
    assert settle_hand(position, stated) is hand


@pytest.mark.parametrize(
    ("hand", "caution"),
    [(Hand.RIGHT, None), (Hand.LEFT, LEFT_HAND_THREAD), (Hand.UNKNOWN, UNKNOWN_HAND)],
)
def test_left_and_unknown_hand_print_a_caution(hand, caution):
    assert find_hand_caution(hand) is caution


def test_every_fastener_position_gets_a_hand():
    assert {settle_hand(position, None) for position in FASTENER_POSITIONS} == {Hand.UNKNOWN, Hand.RIGHT}
