"""Whatever is typed as a question is answered or refused in words; no text makes another error."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine
from sqlmodel import Session

from kb.database import open_reader
from kb.errors import KbError
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.rules.fit.sentence import say_verdict
from kb.rules.fit.shape import shape_verdict
from kb.rules.fit.values import Verdict
from kb.terms import Position

WORD_LINES = (
    "Marlow|Dunnock|belt|rollers|B-788|77 12 3|788|17|28|28.5|16x13|6.5g|g|6|x|-|*|/|,|M10|x1.25|LH|La|Li|°",
    "6201|2RS|C3|34|41|3 x|1500 rpm|L0=110|d=4|D=45|n=5|W25|1922V282|]E0|2000000000008|Ø|%|_|'|\\|½|٣|０",
    "\x00|\x1d|\ud800|\u202e|\U0001f600",
)
WORDS = [word for line in WORD_LINES for word in line.split("|")]
TEXTS = st.one_of(
    st.text(max_size=60),
    st.text(st.characters(codec=None), max_size=30),
    st.lists(st.sampled_from(WORDS), max_size=8).map(" ".join),
    st.lists(st.sampled_from(WORDS), max_size=8).map("".join),
)
POSITIONS = st.one_of(st.none(), st.sampled_from([str(position) for position in Position]))
QUICK = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def ask(session: Session, question: FitQuestion) -> Verdict | KbError:
    try:
        return does_part_fit(session, question)
    except KbError as refusal:
        return refusal


@QUICK
@given(text=TEXTS, position=POSITIONS)
def test_any_text_is_answered_or_refused(catalogue: Engine, text: str, position: str | None) -> None:
    with open_reader(catalogue) as session:
        verdict = ask(session, FitQuestion("wren-50", text, position))
    if isinstance(verdict, KbError):
        assert str(verdict).endswith(".")
        assert "\n" not in str(verdict)
        return
    answer = shape_verdict(verdict)
    json.dumps(answer, allow_nan=False)
    assert say_verdict(verdict)
    if answer["outcome"] == "not_known" or answer["certainty"] == "unsure":
        assert answer["measure_next"]
    if answer["conflict"]:
        assert len({item["outcome"] for item in answer["evidence"]}) > 1
    assert all(item["outcome"] in ("fits", "fits_with_change") for item in answer["alternatives"])
    assert answer["certainty"] != "sure" or answer["asked"]["kind"] == "part"


@QUICK
@given(engine=TEXTS, position=TEXTS)
def test_any_engine_or_position_is_found_or_refused(catalogue: Engine, engine: str, position: str) -> None:
    with open_reader(catalogue) as session:
        for question in (
            FitQuestion(engine, "788-17-28"),
            FitQuestion("wren-50", "788-17-28", position or "?"),
        ):
            assert "\n" not in str(ask(session, question))


@pytest.mark.parametrize("text", ["Marlow B-788\n", "\tMarlow  B-788", "Marlow\u00a0B-788"])
def test_white_space_does_not_matter(catalogue: Engine, text: str) -> None:
    with open_reader(catalogue) as session:
        assert does_part_fit(session, FitQuestion("wren-50", text)).outcome == "fits"
