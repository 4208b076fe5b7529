"""Source: common practice, no source."""

import pytest

from kb.rules.tools.cautions import LEFT_HAND_THREAD, UNKNOWN_HAND
from kb.rules.tools.hand import find_hand_caution, settle_hand
from kb.terms import Hand


@pytest.mark.parametrize(
    ("stated", "marked", "hand"),
    [
        (None, None, Hand.UNKNOWN),
        (None, Hand.RIGHT, Hand.UNKNOWN),  # a plain thread reads right: not copied into an unknown hand
        (None, Hand.LEFT, Hand.LEFT),
        (Hand.RIGHT, Hand.RIGHT, Hand.RIGHT),
        (Hand.LEFT, Hand.RIGHT, Hand.LEFT),
        (Hand.LEFT, Hand.LEFT, Hand.LEFT),
        (Hand.RIGHT, Hand.LEFT, Hand.UNKNOWN),
        (Hand.UNKNOWN, Hand.RIGHT, Hand.UNKNOWN),
    ],
)
def test_unstated_or_contradicted_hand_is_unknown(stated, marked, hand):
    assert settle_hand(stated, marked) is hand


@pytest.mark.parametrize(
    ("hand", "caution"),
    [(Hand.RIGHT, None), (Hand.LEFT, LEFT_HAND_THREAD), (Hand.UNKNOWN, UNKNOWN_HAND)],
)
def test_left_and_unknown_hand_print_a_caution(hand, caution):
    assert find_hand_caution(hand) is caution
