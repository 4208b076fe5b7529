"""Nuts and screws: thread diameter, pitch and hand must match; other flats take another socket.

A thread asked without a hand is right-hand, and a caution says so; ``LH`` in the text is left. The hand of
the engine's thread is never assumed: unknown or contradictory, it makes the answer "not known". A width
across flats that is not known leaves "fits", since the head does not decide whether the thread goes on, but
makes it unsure.
"""

from kb.errors import BadNotation
from kb.notation.thread import ThreadReading, parse_thread
from kb.rules.fit.findings import Findings, Numbers
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import SLACK, FitLimits
from kb.rules.fit.values import Consequence, FastenerNeed, Judgement, PartSize
from kb.terms import EvidenceKind, Hand, Outcome


def judge_fastener(asked: PartSize, need: FastenerNeed, limits: FitLimits) -> Judgement:
    """Whether a nut or screw fits by its thread and head."""
    found = Findings(need.source)
    asked_thread = _read_thread(found, asked.thread, who="what was asked about")
    need_thread = _read_thread(found, need.thread, who="the engine's need")
    if asked_thread and need_thread:
        for rule, asked_mm, need_mm in (
            (ReasonCode.THREAD_DIAMETER, asked_thread.d_mm, need_thread.d_mm),
            (ReasonCode.THREAD_PITCH, asked_thread.pitch_mm, need_thread.pitch_mm),
        ):
            found.add_match(rule, asked_mm, need_mm, limit=limits.thread_mm, unit="mm")
        _judge_hand(found, asked_thread, _find_need_hand(need, need_thread))
    _judge_across_flats(found, asked, need, limits)
    return found.judge(
        EvidenceKind.SIZE, "Thread compared by diameter, pitch and hand; head by width across flats."
    )


def _read_thread(found: Findings, text: str | None, *, who: str) -> ThreadReading | None:
    if text is None:
        found.add(ReasonCode.THREAD_DIAMETER, Outcome.NOT_KNOWN, f"The thread is not known for {who}.")
        found.missing.append(build_measurement("thread"))
        return None
    try:
        return parse_thread(text)
    except BadNotation as error:
        found.add(ReasonCode.THREAD_DIAMETER, Outcome.NOT_KNOWN, f"The thread of {who} is not read: {error}")
        found.missing.append(build_measurement("thread"))
        return None


def _find_need_hand(need: FastenerNeed, thread: ThreadReading) -> Hand | None:
    """Hand of the engine's thread; None where it is not stated, or stated both ways."""
    if thread.hand == Hand.LEFT:
        return None if need.hand == Hand.RIGHT else Hand.LEFT
    return Hand(need.hand) if need.hand in (Hand.RIGHT, Hand.LEFT) else None


def _judge_hand(found: Findings, asked: ThreadReading, need_hand: Hand | None) -> None:
    asked_hand = Hand(asked.hand)
    if asked_hand is Hand.RIGHT:
        found.cautions.append("The thread asked about was given without LH and was read as right-hand.")
    if not found.note_missing(ReasonCode.THREAD_HAND, asked=asked_hand, need=need_hand):
        found.cautions.append(
            "WARNING: the hand of this thread is not known; find out before applying force."
        )
        return
    same = asked_hand == need_hand
    found.add(
        ReasonCode.THREAD_HAND,
        Outcome.FITS if same else Outcome.DOES_NOT_FIT,
        f"{asked_hand.capitalize()}-hand thread against {need_hand}-hand needed.",
        numbers=Numbers(str(asked_hand), str(need_hand)),
    )


def _judge_across_flats(found: Findings, asked: PartSize, need: FastenerNeed, limits: FitLimits) -> None:
    asked_mm, need_mm = asked.across_flats_mm, need.across_flats_mm
    if asked_mm is None or need_mm is None:
        # The head does not decide whether the thread goes on, so this alone never makes it "not known".
        socket = (
            f"the engine's own takes {need_mm:g} mm" if need_mm is not None else "measure before choosing"
        )
        found.cautions.append(f"Socket to use is not certain: a width across flats is not known; {socket}.")
        found.missing.append(build_measurement("across_flats_mm"))
        return
    difference_mm = asked_mm - need_mm
    same = abs(difference_mm) <= limits.across_flats_mm + SLACK
    found.add(
        ReasonCode.ACROSS_FLATS,
        Outcome.FITS if same else Outcome.FITS_WITH_CHANGE,
        f"Socket to use: {asked_mm:g} mm" + ("." if same else f" instead of {need_mm:g} mm."),
        numbers=Numbers(asked_mm, need_mm, "mm"),
    )
    if not same:
        text = f"Another socket: {asked_mm:g} mm instead of {need_mm:g} mm."
        found.consequences.append(Consequence("socket", text))
