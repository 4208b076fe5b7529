"""Direction of a thread: what is taken for granted and what must be asked before force is applied.

On a rotating shaft the hand is normally chosen so that running does not loosen the nut, but most nuts of
belt drives seen are right-hand; so an unstated hand there stays unknown. A screw with no hand stated is
right-hand.

Source: common practice, no source; the mark LH after the size, ISO 965-1.
"""

from kb.rules.tools.cautions import LEFT_HAND_THREAD, UNKNOWN_HAND, Caution
from kb.terms import Hand, Position

POSITIONS_ON_ROTATING_SHAFT = (Position.CRANK_NUT, Position.BELL_NUT, Position.CLUTCH_NUT)


def settle_hand(position: Position, hand: Hand | None) -> Hand:
    """Hand to show: as stated; if none is stated unknown on a rotating shaft, right-hand elsewhere.

    Example:
        >>> settle_hand(Position.CRANK_NUT, None).value, settle_hand(Position.COVER_SCREWS, None).value
        ('unknown', 'right')
    """
    if hand is not None:
        return hand
    return Hand.UNKNOWN if position in POSITIONS_ON_ROTATING_SHAFT else Hand.RIGHT


def find_hand_caution(hand: Hand) -> Caution | None:
    """Caution for a left-hand or unknown thread, None for a right-hand one."""
    return {Hand.LEFT: LEFT_HAND_THREAD, Hand.UNKNOWN: UNKNOWN_HAND, Hand.RIGHT: None}[hand]
