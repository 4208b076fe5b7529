"""From a rider's words to causes with what the engine at hand needs. Order of causes: the catalogue's own."""

import pytest
from sqlmodel import Session

from kb.errors import BadInput, NotFound
from kb.lookups.trace import trace_symptom
from kb.terms import Position


@pytest.fixture
def trace(demo_engine):
    def ask(text, **more):
        with Session(demo_engine) as session:
            return trace_symptom(session, text, **more)

    return ask


def test_fading_top_speed_leads_to_the_belt_first_with_its_limit_part_and_stock(trace):
    # Common practice, no source: top speed fading bit by bit → belt width, then rollers.
    found = trace("it is slowr than it used to be", engine_code="plover-50-s")
    assert found.answer.matches[0].symptom.symptom == "top_speed_fading"
    first, second = found.causes[:2]
    assert (first.cause.position, second.cause.position) == (Position.DRIVE_BELT, Position.ROLLERS)
    assert [(item.quantity, item.limit.limit) for item in first.limits] == [("top_width", 16.5)]
    assert first.part.part is not None
    assert first.tools
    assert first.cautions


def test_creeping_at_idle_leads_to_the_clutch_springs(trace):
    # Common practice, no source.
    found = trace("moves on its own at the light", engine_code="plover-50-s")
    assert found.causes[0].cause.position is Position.CLUTCH_SPRINGS


def test_without_an_engine_causes_stand_without_parts(trace):
    found = trace("slower than it used to be")
    assert found.engine is None
    assert found.causes
    assert all(item.part is None and item.limits == () and item.tools == () for item in found.causes)
    assert all(item.cautions for item in found.causes)


def test_words_that_mean_nothing_name_the_symptoms_there_are(trace):
    found = trace("purple monkey dishwasher")
    assert found.causes == ()
    assert "Top speed fades over weeks" in found.known_symptoms


def test_nothing_said_is_refused_and_an_unknown_engine_is_named(trace):
    with pytest.raises(BadInput):
        trace("   ")
    with pytest.raises(NotFound, match="plover-50-s"):
        trace("slower", engine_code="plover-50-x")


def test_a_catalogue_without_symptoms_answers_nothing(database):
    with Session(database) as session:
        found = trace_symptom(session, "slower than it used to be")
    assert (found.causes, found.known_symptoms) == ((), ())
