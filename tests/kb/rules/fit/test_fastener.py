"""Nuts and screws. Coarse pitches: ISO 261; hand of a plain thread: documented rule of this project."""

import pytest

from kb.rules.fit.fastener import judge_fastener
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import FastenerNeed, Judgement, PartSize
from kb.rules.source import SourceRef
from kb.terms import SourceKind

SOURCE = SourceRef("book", SourceKind.MANUAL)


def judge(
    thread: str | None, flats_mm: float | None = 17.0, *, need: FastenerNeed | None = None
) -> Judgement:
    need = need or FastenerNeed(SOURCE, "M10x1.25", "right", 17.0)
    return judge_fastener(PartSize(thread=thread, across_flats_mm=flats_mm), need, FitLimits())


@pytest.mark.parametrize(
    ("thread", "flats_mm", "outcome", "firm"),
    [
        ("M10x1.25", 17.0, "fits", True),
        ("m 10 x 1,25", 17.0, "fits", True),
        ("M10x1.25", 14.0, "fits_with_change", True),
        ("M10x1.25", None, "fits", False),
        ("M10", 17.0, "does_not_fit", True),  # coarse: 1.5 mm
        ("M10x1.5", 17.0, "does_not_fit", True),
        ("M12x1.25", 17.0, "does_not_fit", True),
        ("M10x1.25 LH", 17.0, "does_not_fit", True),
        (None, 17.0, "not_known", False),
        ("1/4-20 UNC", 17.0, "not_known", False),
    ],
)
def test_outcome(thread: str | None, flats_mm: float | None, outcome: str, firm: bool) -> None:
    judged = judge(thread, flats_mm)
    assert (judged.outcome, judged.is_firm) == (outcome, firm)


def test_thread_without_hand_is_right_and_a_caution_says_so() -> None:
    assert any("read as right-hand" in text for text in judge("M10x1.25").cautions)
    assert not any("read as right-hand" in text for text in judge("M10x1.25 LH").cautions)


@pytest.mark.parametrize(
    ("thread", "hand", "outcome"),
    [
        ("M10x1.25", "left", "does_not_fit"),
        ("M10x1.25 LH", None, "does_not_fit"),
        ("M10x1.25", None, "not_known"),
        ("M10x1.25", "unknown", "not_known"),
        ("M10x1.25 LH", "right", "not_known"),  # the need contradicts itself
        ("M10x1.25", "right", "fits"),
    ],
)
def test_hand_of_the_engine_is_never_assumed(thread: str, hand: str | None, outcome: str) -> None:
    judged = judge("M10x1.25", need=FastenerNeed(SOURCE, thread, hand, 17.0))
    assert judged.outcome == outcome
    if outcome == "not_known":
        assert [item.quantity for item in judged.measure_next] == ["hand"]
        assert any("hand of this thread is not known" in text for text in judged.cautions)


def test_left_hand_nut_fits_a_left_hand_thread() -> None:
    assert judge("M10x1.25 LH", need=FastenerNeed(SOURCE, "M10x1.25", "left", 17.0)).outcome == "fits"
    assert judge("M10x1.25 LH", need=FastenerNeed(SOURCE, "M10x1.25 LH", None, 17.0)).outcome == "fits"


def test_socket_to_use_is_in_the_answer() -> None:
    judged = judge("M10x1.25", 14.0)
    assert judged.reasons[-1].text == "Socket to use: 14 mm instead of 17 mm."
    assert (judged.reasons[-1].value, judged.reasons[-1].limit) == (14.0, 17.0)
    assert [item.quantity for item in judged.consequences] == ["socket"]
    assert [item.quantity for item in judge("M10x1.25", None).measure_next] == ["across_flats_mm"]


def test_wrong_pitch_does_not_fit_though_the_hand_is_not_known() -> None:
    assert judge("M10x1.5", need=FastenerNeed(SOURCE, "M10x1.25", None, None)).outcome == "does_not_fit"
