"""The backtest over the web: bounded, one at a time; its figures are those of the lookup's own tests."""

import pytest
from fastapi.testclient import TestClient

import api.backtests

PAGE = {"accept": "text/html"}
PLAYED = "/api/stock/backtest?as_of=2026-11-20"


def test_the_page_plays_only_when_asked_and_then_shows_plot_and_figures(client: TestClient):
    asked = client.get("/stock/backtest", headers=PAGE).text
    assert "Held against served" not in asked
    page = client.get("/stock/backtest?play=true&location=counter&service=97.5", headers=PAGE)
    assert page.status_code == 200
    assert "Held against served" in page.text
    assert "this method" in page.text
    assert "the levels of today, never changed" in page.text
    assert 'value="97.5"' in page.text
    assert "as well</h2>" in page.text


def test_the_answer_as_data_is_that_of_the_question(client: TestClient):
    low, high = (client.get(f"{PLAYED}&service={share}").json() for share in (0.8, 0.99))
    assert low["parts"] == high["parts"] > 100
    first = [answer["rules"][0] for answer in (low, high)]
    assert first[0]["fill_rate"] < first[1]["fill_rate"]
    assert first[0]["mean_pieces_held"] < first[1]["mean_pieces_held"]


def test_a_shelf_too_large_for_a_page_is_sent_to_the_command(client: TestClient, monkeypatch):
    monkeypatch.setattr(api.backtests, "MOST_PARTS", 100)
    page = client.get("/stock/backtest?play=true", headers=PAGE)
    assert (page.status_code, "counterhand backtest" in page.text) == (422, True)
    assert client.get(PLAYED).status_code == 422


def test_one_is_played_at_a_time(client: TestClient):
    with api.backtests.take_turn():
        answer = client.get(PLAYED)
    assert (answer.status_code, answer.headers["retry-after"]) == (429, "5")
    assert client.get(PLAYED).status_code == 200


@pytest.mark.parametrize("query", ["service=40", "lead=13", "location=countr"])
def test_a_question_that_cannot_be_played_is_explained(client: TestClient, query: str):
    assert client.get(f"/stock/backtest?play=true&{query}", headers=PAGE).status_code in (404, 422)


def test_a_history_that_is_too_short_is_told(client: TestClient):
    answer = client.get("/api/stock/backtest?as_of=2024-01-20")
    assert (answer.status_code, "too short" in answer.json()["detail"]) == (422, True)
