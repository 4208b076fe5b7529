"""From a rider's words to the parts to look at. What points to what: common practice, no source."""

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.rules.gauge_values import GaugeState
from kb.rules.quantity import parse_quantity
from kb.rules.trace import (
    Symptom,
    SymptomCause,
    SymptomMatch,
    find_symptoms,
    rank_causes,
    split_rider_words,
    trace_text,
)
from kb.terms import Certainty, Position

DEMO = Path(__file__).parents[3] / "demo_catalog"


def read_rows(name: str) -> list[dict[str, str]]:
    with (DEMO / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_symptoms() -> list[Symptom]:
    return [
        Symptom(row["symptom"], row["title"], tuple(row["words"].split(";")), row["note"], row["source"])
        for row in read_rows("symptoms.csv")
    ]


def read_causes() -> list[SymptomCause]:
    return [
        SymptomCause(
            symptom=row["symptom"],
            order=int(row["order"]),
            cause=row["cause"],
            position=Position(row["position"]) if row["position"] else None,
            check=row["check"],
            quantity=row["quantity"] or None,
            job=row["job"] or None,
            source=row["source"],
        )
        for row in read_rows("symptom_causes.csv")
    ]


SYMPTOMS = read_symptoms()
CAUSES = read_causes()

CREEP = Symptom("creep", "Creeps at idle", ("moves on its own at the light", "pulls away too early"))
FADE = Symptom("fade", "Top speed fades", ("slower than it used to be", "lost top speed"))
JERK = Symptom("jerk", "Jerks halfway", ("jerks in the middle",))


@pytest.mark.parametrize(
    ("words", "symptom", "first"),
    [
        ("top speed has dropped a little at a time", "top_speed_fading", Position.DRIVE_BELT),
        ("it is getting slower week by week, used to go faster", "top_speed_fading", Position.DRIVE_BELT),
        ("revs rise, speed does not", "revs_without_speed", Position.DRIVE_BELT),
        ("engine screams and nothing happens", "revs_without_speed", Position.DRIVE_BELT),
        ("pulls away too early, creeps at idle", "creeps_at_idle", Position.CLUTCH_SPRINGS),
        ("it rolls off by itself when I start it", "creeps_at_idle", Position.CLUTCH_SPRINGS),
        ("pulls away too late", "late_take_off", Position.CLUTCH_SPRINGS),
        ("revs too high everywhere", "revs_too_high", Position.ROLLERS),
        ("it wont shift up", "revs_too_high", Position.ROLLERS),
        ("bogs from a stop", "bogs_from_stop", Position.ROLLERS),
        ("jerky in the middle of the range", "mid_range_jerk", Position.TORQUE_DRIVER),
        ("eats a belt every 800 km", "belt_life_short", Position.DRIVE_BELT),
        ("kick-starter slips", "kick_start_slips", Position.KICK_GEAR),
        ("rattles at idle", "rattle_at_idle", Position.SLIDERS),
        ("clattering noise on the left when idling", "rattle_at_idle", Position.SLIDERS),
        ("shakes when I pull away", "judder_on_take_off", Position.CLUTCH_BELL),
        ("will not go over 45", "limited_top_speed", Position.RESTRICTOR_WASHER),
        ("engine is running but the wheel does not turn", "no_drive", Position.DRIVE_BELT),
        ("smells like burnt ruber after riding", "hot_belt_case", Position.DRIVE_BELT),
    ],
)
def test_what_riders_say_leads_to_the_part_to_look_at_first(
    words: str, symptom: str, first: Position
) -> None:
    answer = trace_text(words, SYMPTOMS, CAUSES)
    assert answer.matches[0].symptom.symptom == symptom
    assert answer.causes[0].position == first


@pytest.mark.parametrize(
    "words", ["", "   ", "hello", "my scooter", "brakes squeal", "the headlamp is dim", "!?"]
)
def test_words_about_something_else_match_nothing(words: str) -> None:
    answer = trace_text(words, SYMPTOMS, CAUSES)
    assert (answer.matches, answer.causes) == ((), ())


def test_answer_shows_the_dangers_of_looking() -> None:
    assert [caution.split(":")[0] for caution in trace_text("hello", SYMPTOMS, CAUSES).cautions] == [
        "WARNING",
        "WARNING",
        "NOTICE",
    ]


@pytest.mark.parametrize("text", ["creep", "CREEP", " Creeps at idle "])
def test_code_or_title_word_for_word_is_sure(text: str) -> None:
    (match,) = find_symptoms(text, [CREEP, FADE])
    assert (match.symptom, match.score, match.certainty) == (CREEP, 1.0, Certainty.SURE)


@pytest.mark.parametrize(
    ("text", "certainty"),
    [
        ("slower than it used to be", Certainty.PROBABLE),
        ("slowr than it used to be", Certainty.PROBABLE),
        ("slower", Certainty.UNSURE),
        ("slow lorries", None),
        ("top speed", Certainty.UNSURE),
    ],
)
def test_certainty_falls_with_what_was_left_unsaid(text: str, certainty: Certainty | None) -> None:
    matches = find_symptoms(text, [CREEP, FADE, JERK])
    assert [match.certainty for match in matches] == ([] if certainty is None else [certainty])


def test_two_symptoms_at_once_are_both_unsure() -> None:
    matches = find_symptoms("jerks in the middle and slower than it used to be", [CREEP, FADE, JERK])
    assert {match.symptom.symptom for match in matches} == {"fade", "jerk"}
    assert {match.certainty for match in matches} == {Certainty.UNSURE}


def test_no_more_matches_than_the_limit() -> None:
    text = "jerks in the middle and slower than it used to be"
    assert len(find_symptoms(text, [CREEP, FADE, JERK], limit=1)) == 1
    assert len(find_symptoms("same", [Symptom("a", "Same"), Symptom("b", "same")], limit=1)) == 1


def test_phrase_that_came_nearest_is_shown() -> None:
    (match,) = find_symptoms("lost its top speed", [CREEP, FADE])
    assert match.phrase == "lost top speed"


def test_symptom_whose_phrases_are_all_filler_never_matches() -> None:
    assert find_symptoms("jerks in the middle", [Symptom("x", "It is", ("the machine",))]) == ()


def test_only_the_first_five_hundred_characters_are_read() -> None:
    assert find_symptoms("x" * 500 + " slower than it used to be", [FADE]) == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("It won't shift!", ["not", "shift"]),
        ("slips, slipped, slipping", ["slip", "slip", "slip"]),
        ("stuck at 45", ["stuck", "#"]),
        ("RPM too high", ["rev", "high"]),
        ("less grass", ["less", "grass"]),
        ("bell rolls", ["bell", "roll"]),
        ("the", []),
    ],
)
def test_words_are_brought_to_one_form(text: str, words: list[str]) -> None:
    assert list(split_rider_words(text)) == words


BELT = SymptomCause("fade", 1, "Belt narrow", Position.DRIVE_BELT, quantity="top_width_mm")
ROLLERS = SymptomCause("fade", 2, "Rollers flat", Position.ROLLERS, quantity="diameter")
ENGINE = SymptomCause("fade", 3, "Engine weak")
SPRINGS = SymptomCause("creep", 1, "Springs weak", Position.CLUTCH_SPRINGS)


def match(symptom: Symptom, score: float = 1.0) -> SymptomMatch:
    return SymptomMatch(symptom, score, Certainty.PROBABLE, symptom.title)


def test_causes_come_in_the_order_of_the_bench() -> None:
    ranked = rank_causes([match(FADE)], [ENGINE, ROLLERS, SPRINGS, BELT])
    assert [(row.cause, row.weight) for row in ranked] == [
        ("Belt narrow", 1.0),
        ("Rollers flat", 0.5),
        ("Engine weak", 0.3333),
    ]


def test_place_that_two_symptoms_point_to_comes_first() -> None:
    shared = SymptomCause("creep", 1, "rollers flat", Position.ROLLERS, quantity="diameter")
    ranked = rank_causes([match(FADE, 0.6), match(CREEP, 0.6)], [ROLLERS, ENGINE, SPRINGS, shared])
    assert [(row.cause, row.symptoms) for row in ranked][:2] == [
        ("Rollers flat", ("fade", "creep")),
        ("Springs weak", ("creep",)),
    ]


@pytest.mark.parametrize(
    ("state", "first", "weight"),
    [
        (GaugeState.REPLACE, "Rollers flat", 2.0),
        (GaugeState.NEAR_LIMIT, "Belt narrow", 0.75),
        (GaugeState.NOT_KNOWN, "Belt narrow", 0.5),
        (GaugeState.GOOD, "Belt narrow", 0.05),
    ],
)
def test_gauged_part_moves_up_or_down(state: GaugeState, first: str, weight: float) -> None:
    ranked = rank_causes([match(FADE)], [BELT, ROLLERS], gauged={(Position.ROLLERS, "diameter"): state})
    assert ranked[0].cause == first
    (rollers,) = [row for row in ranked if row.cause == "Rollers flat"]
    assert (rollers.weight, rollers.state) == (weight, state)


def test_gauged_quantity_is_met_under_any_of_its_names() -> None:
    (belt,) = rank_causes(
        [match(FADE)], [BELT], gauged={(Position.DRIVE_BELT, "top_width"): GaugeState.REPLACE}
    )
    assert (belt.quantity, belt.state, belt.weight) == ("top_width", GaugeState.REPLACE, 4.0)


def test_row_without_a_usable_order_counts_as_first() -> None:
    (row,) = rank_causes([match(FADE)], [SymptomCause("fade", 0, "Belt narrow")])
    assert row.weight == 1.0


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=80))
def test_any_text_gets_an_answer_with_scores_between_a_half_and_one(text: str) -> None:
    for found in find_symptoms(text, [CREEP, FADE, JERK]):
        assert 0.5 <= found.score <= 1.0


def test_demo_symptoms_have_causes_in_unbroken_order() -> None:
    for symptom in SYMPTOMS:
        orders = [cause.order for cause in CAUSES if cause.symptom == symptom.symptom]
        assert orders == list(range(1, len(orders) + 1))
        assert orders
    assert {cause.symptom for cause in CAUSES} == {symptom.symptom for symptom in SYMPTOMS}


def test_demo_symptoms_name_sources_jobs_and_quantities_of_the_demo_catalogue() -> None:
    sources = {row["source"]: row["kind"] for row in read_rows("sources.csv")}
    assert {sources[row.source or ""] for row in (*SYMPTOMS, *CAUSES)} == {"common_practice"}
    assert {cause.job for cause in CAUSES} - {None} <= {row["job"] for row in read_rows("jobs.csv")}
    for cause in CAUSES:
        if cause.quantity:
            assert parse_quantity(cause.quantity, position=cause.position) == cause.quantity


def test_demo_phrases_lead_to_their_own_symptom() -> None:
    for symptom in SYMPTOMS:
        for phrase in symptom.words:
            assert find_symptoms(phrase, SYMPTOMS)[0].symptom.symptom == symptom.symptom, phrase
