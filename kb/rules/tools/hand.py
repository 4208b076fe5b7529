"""Direction of a thread: what is taken for granted and what must be asked before force is applied.

On a rotating shaft the hand is normally chosen so that running does not loosen the nut, but most nuts of
belt drives seen are right-hand. So a hand that the catalogue does not state stays unknown, that of a screw
too.

Source: common practice, no source; the mark LH after the size, ISO 965-1.
"""

from kb.rules.tools.cautions import LEFT_HAND_THREAD, UNKNOWN_HAND, Caution
from kb.terms import Hand, Position

POSITIONS_ON_ROTATING_SHAFT = (Position.CRANK_NUT, Position.BELL_NUT, Position.CLUTCH_NUT)


def settle_hand(stated: Hand | None, marked: Hand | None = None) -> Hand:
    """Hand to show: as stated, or left where the thread is marked LH; else, and when they differ, unknown.

    Args:
        stated: what the catalogue says of the hand.
        marked: hand that the written thread reads as; without LH that is right-hand, which proves nothing.

    Example:
        >>> settle_hand(None).value, settle_hand(None, Hand.LEFT).value
        ('unknown', 'left')
        >>> settle_hand(Hand.RIGHT, Hand.LEFT).value
        'unknown'
    """
    if marked is Hand.LEFT and stated in (None, Hand.LEFT):
        return Hand.LEFT
    return Hand.UNKNOWN if stated is None or marked is Hand.LEFT else stated


def find_hand_caution(hand: Hand) -> Caution | None:
    """Caution for a left-hand or unknown thread, None for a right-hand one."""
    return {Hand.LEFT: LEFT_HAND_THREAD, Hand.UNKNOWN: UNKNOWN_HAND, Hand.RIGHT: None}[hand]
