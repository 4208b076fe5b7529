"""Levels by hand and demand left out, on the page of a part; demand: demand.csv of the demo catalogue."""

import re

import pytest
from fastapi.testclient import TestClient

PAGE = {"accept": "text/html"}
BELT = "/stock/Brackenloop/LP-669-18-30"
NAMES = {"maker": "Brackenloop", "part_number": "LP-669-18-30", "shelf": "counter"}
SALE = {"day": "2026-10-12", "location": "counter", "quantity": "2", "why": "a fleet", "made_by": "ann"}


def post(client: TestClient, path: str, key: str = "k-1", status: int = 200, **form: str) -> str:
    answer = client.post(f"/stock/{path}", data={"key": key} | NAMES | form, headers=PAGE)
    assert answer.status_code == status, answer.text
    return answer.text


def read_demand(client: TestClient):
    return client.get("/api/stock/demand", params={k: NAMES[k] for k in ("maker", "part_number")}).json()


def test_a_level_is_set_shown_with_who_and_why_and_computed_again(client):
    page = post(client, "levels", location="counter", level="40", why="a fleet comes", made_by="ann")
    assert "<b>40</b> for counter: a fleet comes" in page
    assert re.search(r"Set by hand by ann on [-0-9]+: a fleet comes", page)
    listed = client.get("/stock/levels", headers=PAGE).text
    assert "a fleet comes" in listed
    assert [level["level"] for level in client.get("/api/stock/levels").json()["levels"]] == [40]
    gone = post(client, "levels", "k-2", location="counter", why="taken back")
    assert "the level is computed" in gone
    assert client.get("/api/stock/levels").json()["levels"] == []
    assert "every level is computed" in client.get("/stock/levels", headers=PAGE).text


def test_a_level_is_taken_back_from_the_list_of_all(client):
    post(client, "levels", level="40", why="a fleet comes", made_by="ann")
    page = post(client, "levels", "k-2", why="taken back", back="levels")
    assert "every level is computed" in page


def test_a_sale_is_left_out_of_the_forecast_and_counted_again(client):
    """3 pieces were asked for at the counter on 2026-10-12."""
    before = read_demand(client)
    page = post(client, "left-out", **SALE)
    assert "<b>2</b> of 2026-10-12 at counter: a fleet" in page
    after = read_demand(client)
    day = next(day for day in after["days"] if (day["day"], day["location"]) == ("2026-10-12", "counter"))
    assert (day["asked"], day["left_out"], day["counted"]) == (3, 2, 1)
    post(client, "counts-again", exclusion=str(after["left_out"][0]["exclusion"]))
    assert read_demand(client) == before


def test_no_more_is_left_out_than_was_asked_for(client):
    post(client, "left-out", **SALE)
    page = post(client, "left-out", "k-2", status=409, **SALE)
    assert "1 pieces count as demand here, so 2 cannot be left out" in page
    assert [item["quantity"] for item in read_demand(client)["left_out"]] == [2]


def test_what_is_left_out_is_taken_back_once_over_http(client):
    post(client, "left-out", **SALE)
    number = read_demand(client)["left_out"][0]["exclusion"]
    answers = [client.delete(f"/api/stock/excluded-demand/{number}").status_code for _ in range(2)]
    assert answers == [204, 404]
    assert "is left out under the number" in post(client, "counts-again", status=404, exclusion=str(number))


@pytest.mark.parametrize("blank", ["why", "made_by"])
def test_a_decision_without_who_or_why_is_refused_on_the_page_and_the_key_stays_free(client, blank):
    page = post(client, "left-out", status=422, **(SALE | {blank: " "}))
    assert "needs who and why" in page
    assert read_demand(client)["left_out"] == []
    assert "<b>2</b> of 2026-10-12" in post(client, "left-out", **SALE)


def test_figures_are_those_of_the_shelf_that_is_looked_at(client):
    one = client.get(BELT + "?shelf=branch", headers=PAGE).text
    assert '<span class="aside">branch, with Sedgeholm' in one
    assert client.get(BELT + "?shelf=nowhere", headers=PAGE).status_code == 404
