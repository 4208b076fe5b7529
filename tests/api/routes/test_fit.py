"""Verdicts over HTTP. Expected values: the questions in the README of the demo catalogue."""

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.answers.fit import FIT_EXAMPLE

POSITIONS = [
    "drive_belt",
    "rollers",
    "clutch_springs",
    "contra_spring",
    "crank_nut",
    "cover_bearing",
    "kick_gear",
]


def ask(client: TestClient, **params: str) -> dict:
    response = client.get("/api/fit", params=params)
    assert response.status_code == 200, response.text
    return response.json()


@pytest.mark.parametrize(
    ("asked", "outcome"),
    [
        ("669-18-30", "fits"),
        ("Sedgeholm 13-316-DB1", "fits"),
        ("Tollwyne TW 669.2", "fits_with_change"),
        ("743-20-30", "does_not_fit"),
        ("55 120 7", "not_known"),
    ],
)
def test_outcome_of_demo_questions(client: TestClient, asked: str, outcome: str):
    assert ask(client, engine="plover-50-s", asked=asked)["outcome"] == outcome


def test_verdict_has_every_field_of_the_contract(client: TestClient):
    answer = ask(client, engine="plover-50-s", asked="669-18-30", position="drive_belt")
    assert answer.keys() >= {
        "outcome",
        "certainty",
        "engine",
        "position",
        "asked",
        "need",
        "reasons",
        "consequences",
        "evidence",
        "measure_next",
        "conflict",
        "alternatives",
        "cautions",
    }
    assert answer["alternatives"][0].keys() >= {"maker", "part_number", "outcome", "on_hand", "why"}


def test_example_in_the_document_is_the_answer_that_is_given(client: TestClient):
    answer = ask(client, engine="plover-50-s", asked="Tollwyne TW 669.2")
    for name in ("outcome", "certainty", "engine", "position", "conflict"):
        assert answer[name] == FIT_EXAMPLE[name]
    assert (
        answer["asked"].items()
        >= {name: value for name, value in FIT_EXAMPLE["asked"].items() if name != "size"}.items()
    )
    assert answer["asked"]["size"].items() >= FIT_EXAMPLE["asked"]["size"].items()
    assert answer["need"].items() >= FIT_EXAMPLE["need"].items()
    assert FIT_EXAMPLE["reasons"][0] in answer["reasons"]
    assert FIT_EXAMPLE["consequences"][0] in answer["consequences"]


def test_spring_under_load_carries_its_caution_as_data(client: TestClient):
    answer = ask(client, engine="plover-50-s", asked="Pimperlock PL64076")
    hazard = answer["hazards"][0]
    assert hazard["signal"] == "WARNING"
    assert hazard.keys() >= {"signal", "hazard", "consequence", "avoidance"}
    assert "compressed" in hazard["hazard"]


def test_unknown_engine_names_the_nearest(client: TestClient):
    response = client.get("/api/fit", params={"engine": "plover-50-x", "asked": "669-18-30"})
    assert response.status_code == 404
    assert response.json()["nearest"][:2] == ["plover-50-l", "plover-50-s"]


def test_unreadable_size_says_which_part_is_not_understood(client: TestClient):
    response = client.get(
        "/api/fit", params={"engine": "plover-50-s", "asked": "669-18-30-", "position": "drive_belt"}
    )
    assert response.status_code == 422
    body = response.json()
    assert body["type"] == "urn:counterhand:problem:not-understood"
    assert "separator without a number" in body["detail"]


@pytest.mark.parametrize("params", [{}, {"engine": "plover-50-s"}, {"engine": "plover-50-s", "asked": ""}])
def test_missing_question_names_the_field(client: TestClient, params: dict[str, str]):
    response = client.get("/api/fit", params=params)
    assert response.status_code == 422
    assert response.json()["field"] in ("engine", "asked")


def test_text_that_is_too_long_is_refused(client: TestClient):
    response = client.get("/api/fit", params={"engine": "plover-50-s", "asked": "6" * 201})
    assert response.status_code == 422


SIZE_LIKE = st.text(alphabet="0123456789 -x×/.,°MmLaHW\x1d~\\%_\"'*", max_size=30)


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(
    engine=st.one_of(st.just("plover-50-s"), st.text(max_size=20)),
    asked=st.one_of(SIZE_LIKE, st.text(max_size=210)),
    position=st.one_of(st.none(), st.sampled_from(POSITIONS), st.text(max_size=20)),
)
def test_no_question_is_answered_with_a_server_error(client: TestClient, engine, asked, position):
    params = {"engine": engine, "asked": asked} | ({"position": position} if position is not None else {})
    response = client.get("/api/fit", params=params)
    assert response.status_code in (200, 404, 422), response.text


def test_parts_worth_a_look_stand_beside_a_verdict_by_records_and_are_not_known_to_fit(client: TestClient):
    answer = ask(client, engine="plover-50-s", asked="N.78.035")
    assert answer["position"] == "clutch_bell"
    assert "N.35.403" in [item["part_number"] for item in answer["worth_a_look"]]
    assert {item["outcome"] for item in answer["worth_a_look"]} == {"not_known"}
    judged = {item["part_number"] for item in answer["alternatives"]}
    assert judged.isdisjoint(item["part_number"] for item in answer["worth_a_look"])


def test_nothing_is_worth_a_look_where_sizes_decide(client: TestClient):
    assert ask(client, engine="plover-50-s", asked="669-18-30")["worth_a_look"] == []
