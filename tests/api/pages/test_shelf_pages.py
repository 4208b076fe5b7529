"""What a person does on the pages of orders and jobs, and what is said when it cannot be done."""

import re

import pytest
from fastapi.testclient import TestClient

from api.pages.stock_figures import explain_line

PAGE = {"accept": "text/html"}
BELT = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}


def look(client: TestClient, path: str, status: int = 200) -> str:
    answer = client.get(path, headers=PAGE)
    assert answer.status_code == status, answer.text
    return " ".join(answer.text.split())


def post(client: TestClient, path: str, status: int = 200, **form: str) -> str:
    answer = client.post(path, data={"key": "k"} | form, headers=PAGE)
    assert answer.status_code == status, answer.text
    return " ".join(answer.text.split())


def read_belt(client: TestClient) -> dict[str, int]:
    places = client.get("/api/stock?part=LP-669-18-30").json()["parts"][0]["places"]
    return next(place for place in places if place["location"] == "counter")


@pytest.fixture
def order(client: TestClient) -> str:
    body = {"supplier": "kestrow", "location": "counter", "lines": [BELT | {"quantity": 12}]}
    return client.post("/api/orders", json=body, headers={"Idempotency-Key": "o"}).json()["order"]


def test_the_parts_of_a_bench_card_are_set_aside_from_the_card_itself(client):
    card = client.get("/card?engine=plover-50-s&job=full_drive_service", headers=PAGE).text
    form = re.search(r'<form[^>]*action="/jobs".*?</form>', card, re.DOTALL)
    assert form
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]+)"', form[0]))
    page = client.post("/jobs", data=fields | {"machine": "AB 12", "location": "counter"}, headers=PAGE)
    assert page.status_code == 200
    assert "AB 12" in page.text
    assert "plover-50-s" in page.text
    assert read_belt(client)["committed"] == 1


def test_what_cannot_be_set_aside_is_said_on_the_page_and_the_form_keeps_what_was_typed(client):
    page = post(client, "/jobs", 404, machine="AB 12", engine="plovr-50", job="belt", location="counter")
    assert 'role="alert"' in page
    assert 'value="AB 12"' in page
    page = post(client, "/jobs", 422, machine="AB 12", location="counter")
    assert "needs an engine and a job" in page


def test_some_of_the_pieces_of_a_job_are_used_and_the_rest_is_freed_by_cancelling(client):
    body = {"machine": "AB 12", "location": "counter", "lines": [BELT | {"quantity": 3}]}
    job = client.post("/api/jobs", json=body, headers={"Idempotency-Key": "j"}).json()
    line = str(job["lines"][0]["line"])
    post(client, f"/jobs/{job['job']}", action="use", line=line, quantity="2")
    assert (read_belt(client)["on_hand"], read_belt(client)["committed"]) == (12, 1)
    too_many = {"key": "k2", "action": "use", "line": line, "quantity": "2"}
    assert "fewer than 2 pieces set aside" in post(client, f"/jobs/{job['job']}", 409, **too_many)
    page = post(client, f"/jobs/{job['job']}", key="k3", action="cancelled")
    assert "No job is open." in page
    assert "2 of Brackenloop LP-669-18-30 used" in page
    assert (read_belt(client)["on_hand"], read_belt(client)["committed"]) == (12, 0)


def test_all_pieces_of_a_job_are_used_in_one_step_or_none_is(client):
    lines = [BELT | {"quantity": 3}, {"maker": "Quarrox", "part_number": "QX99259G", "quantity": 900}]
    body = {"machine": "AB 12", "location": "counter", "lines": lines}
    job = client.post("/api/jobs", json=body, headers={"Idempotency-Key": "j"}).json()["job"]
    assert "is not possible" in post(client, f"/jobs/{job}", 409, action="used_all")
    assert (read_belt(client)["on_hand"], read_belt(client)["committed"]) == (14, 3)
    body["lines"] = lines[:1]
    second = client.post("/api/jobs", json=body, headers={"Idempotency-Key": "j2"}).json()["job"]
    page = post(client, f"/jobs/{second}", key="k2", action="used_all")
    assert "3 of Brackenloop LP-669-18-30 used" in page
    assert (read_belt(client)["on_hand"], read_belt(client)["committed"]) == (11, 3)


def test_a_code_that_is_not_on_the_order_is_said_beside_the_scan_field(client, order):
    for state in ("approved", "sent"):
        post(client, f"/orders/{order}", key=state, state=state)
    page = post(client, f"/orders/{order}", 422, code="banana", quantity="1")
    assert "&#39;banana&#39; is no article number" in page
    assert 'value="banana"' in page
    over = post(client, f"/orders/{order}", 409, key="k2", code="LP-669-18-30", quantity="13")
    assert "does not wait for 13 more" in over
    done = post(client, f"/orders/{order}", key="k3", code="LP-669-18-30", quantity="12")
    assert "12 of Brackenloop LP-669-18-30 received; 26 on hand." in done
    assert "<b>closed</b>" in done


def test_open_orders_stand_before_those_that_ended(client, order):
    page = look(client, "/orders")
    assert "that were closed or cancelled" not in page
    post(client, f"/orders/{order}", state="cancelled")
    page = look(client, "/orders")
    assert page.index("No order is open.") < page.index("that were closed or cancelled") < page.index(order)


def test_a_draft_says_what_to_do_next_and_shows_no_columns_of_what_came(client, order):
    page = look(client, f"/orders/{order}")
    assert "then mark it as sent" in page
    assert 'data-label="Came"' not in page
    assert "cannot become closed" in post(client, f"/orders/{order}", 409, state="closed")


def test_an_order_too_small_is_filled_up_only_when_a_person_takes_the_offer(client):
    """Alderton's order of the counter, with free freight from 10.00 above it."""
    question = "/api/order-draft?location=counter&supplier=alderton"
    value = client.get(question).json()["orders"][0]["order_value_minor"]
    terms = {"free_freight_from_minor": value + 1000}
    client.post("/api/suppliers/alderton/terms", json=terms, headers={"Idempotency-Key": "t"})
    page = look(client, "/orders?location=counter")
    assert "10.00 short of free freight" in page
    assert "Offered, not done" not in page
    offered = look(client, "/orders?location=counter&top_up=alderton")
    assert "Offered, not done" in offered
    form = {"supplier": "alderton", "location": "counter", "shelf": "counter"}
    post(client, "/orders", **form, filled_up="true")
    kept = client.get("/api/orders").json()["orders"][0]
    assert kept["value_minor"] >= value + 1000
    assert "fills the order up" in {line["why"] for line in kept["lines"]}


def test_figures_are_said_as_a_person_reads_them(client):
    line = client.get("/api/stock/low?location=counter&as_of=2026-11-20").json()["lines"][0]
    shown = line | {
        "available": -3,
        "level": 10,
        "position": 4,
        "raw_need": 6,
        "rate_per_month": 5.449,
        "fill_rate_expected": 0.9968,
        "pack_size": 10,
        "warnings": ["excluded_demand"],
    }
    figures = {figure.label: figure for figure in explain_line(shown)}
    assert figures["Available"].value == "−3"
    assert figures["Asked for per month"].value == "5.4"
    assert figures["Served from the shelf"].value == "99.7 %"
    assert "packs of 10" in figures["Order"].why
    assert figures["Demand"].value == "some left out"
    assert figures["Needed"].why == "Level less available and on order."
    one_way = explain_line(shown | {"level": 8, "position": 6, "raw_need": 10})
    assert "superseded" in next(figure.why for figure in one_way if figure.label == "Needed")
    assert all(figure.why.endswith(".") or figure.why.endswith(").") for figure in figures.values())


def test_columns_of_figures_say_what_they_mean_to_everybody(client, order):
    for path in ("/stock", f"/orders/{order}", "/orders"):
        assert "What the figures mean" in look(client, path), path
