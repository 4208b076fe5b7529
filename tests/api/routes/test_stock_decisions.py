"""Decisions against the figures over HTTP: a level by hand, demand left out, each with who and why."""

import pytest
from fastapi.testclient import TestClient

BELT = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}
LOW = "/api/stock/low?location=counter&as_of=2026-11-20"


def post(client: TestClient, path: str, key: str = "d-1", **body):
    return client.post(f"/api/stock/{path}", json=BELT | body, headers={"Idempotency-Key": key})


def find_line(client: TestClient):
    """The line that the belt is counted in, under its own number or its twin's. None = not low."""
    lines = client.get(LOW).json()["lines"]
    return next((line for line in lines if BELT["part_number"] in str(line)), None)


def test_a_level_by_hand_brings_a_part_on_the_list_and_its_removal_takes_it_off(client):
    assert find_line(client) is None
    answer = post(client, "levels", location="counter", level=500, why="a fleet comes", made_by="ann")
    assert (answer.status_code, answer.json()["level"]) == (201, 500)
    line = find_line(client)
    assert line["level"] == 500
    assert "manual_level" in {reason["code"] for reason in line["reasons"]}
    gone = post(client, "levels", key="d-2", location="counter", level=None, why="it went", made_by="ann")
    assert (gone.status_code, find_line(client)) == (201, None)


def test_what_is_excluded_no_longer_counts_as_demand_and_the_line_says_so(client):
    def read_rate() -> float:
        return find_line(client)["rate_per_month"]

    post(client, "levels", location="counter", level=500, why="to see the line", made_by="ann")
    before = read_rate()
    body = {"location": "counter", "day": "2026-10-12", "quantity": 1, "why": "bulk sale", "made_by": "ann"}
    answer = post(client, "excluded-demand", key="d-2", **body)
    assert (answer.status_code, answer.json()["made_by"]) == (201, "ann")
    assert read_rate() < before
    assert "excluded_demand" in find_line(client)["warnings"]


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("levels", {"location": "counter", "level": 5, "why": "no name"}),
        ("levels", {"location": "counter", "level": 5, "why": " ", "made_by": "ann"}),
        ("levels", {"location": "counter", "level": -1, "why": "why", "made_by": "ann"}),
        ("excluded-demand", {"location": "counter", "day": "2026-10-05", "quantity": 1, "why": "no name"}),
        ("excluded-demand", {"location": "counter", "day": "2026-10-05", "quantity": 0, "why": "a"}),
    ],
)
def test_a_decision_without_who_or_why_or_a_usable_figure_is_refused(client, path, body):
    answer = post(client, path, **body)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_decision_on_an_unknown_part_or_a_level_that_is_not_there_is_not_found(client):
    unknown = {"part_number": "LP-000", "location": "counter", "level": 5, "why": "why", "made_by": "ann"}
    assert post(client, "levels", **unknown).status_code == 404
    unset = {"location": "branch", "level": None, "why": "why", "made_by": "ann"}
    assert post(client, "levels", key="d-2", **unset).status_code == 404
