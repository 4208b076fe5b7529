"""Receiving with a scanner, by the page's forms and over HTTP. Numbers: parts.csv, stock.csv of the demo."""

import re

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, text

from kb.database import open_reader
from kb.lookups.check import check_database

PAGE = {"accept": "text/html"}
BELT = "2301273122306"  # Brackenloop LP-669-18-30, 14 pieces at the counter
OTHER = "2143195136067"  # Quarrox QX99259G
NAMES = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}


def send(client: TestClient, path: str, **form: str) -> str:
    answer = client.post(path, data=form, headers=PAGE)
    assert answer.status_code == 200, answer.text
    return " ".join(answer.text.split())


def begin(client: TestClient, **form: str) -> str:
    answer = client.post("/receive", data=form, headers=PAGE, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def scan(client: TestClient, delivery: str, *codes: str) -> str:
    page = ""
    for code in codes:
        page = send(client, f"{delivery}/scans", code=code)
    return page


def book(client: TestClient, delivery: str) -> str:
    seen = re.search(r'name="seen" value="(\d+)"', client.get(delivery, headers=PAGE).text)
    assert seen
    return send(client, f"{delivery}/post", seen=seen[1])


def read_places(client: TestClient, number: str = "LP-669-18-30") -> dict[str, int]:
    places = client.get(f"/api/stock?part={number}").json()["parts"][0]["places"]
    return {place["location"]: place["on_hand"] for place in places}


@pytest.fixture
def order(client: TestClient) -> str:
    """An order of 12 belts for the counter that was sent."""
    lines = [NAMES | {"quantity": 12}]
    body = {"supplier": "kestrow", "location": "counter", "lines": lines}
    name = client.post("/api/orders", json=body, headers={"Idempotency-Key": "o"}).json()["order"]
    for state in ("approved", "sent"):
        headers = {"Idempotency-Key": state}
        client.post(f"/api/orders/{name}/state", json={"state": state}, headers=headers)
    return name


def test_a_delivery_without_an_order_is_scanned_and_booked_as_one(client, demo_engine: Engine):
    delivery = begin(client, location="counter", note="slip 77")
    page = scan(client, delivery, BELT, BELT, "/parts/Brackenloop/LP-669-18-30", "=5", OTHER)
    assert "6 pieces, 2 parts" in page
    assert read_places(client)["counter"] == 14
    booked = book(client, delivery)
    assert "6 pieces of 2 parts were booked" in booked
    assert read_places(client)["counter"] == 19
    movements = client.get("/api/stock/movements", params=NAMES).json()["movements"]
    assert (movements[0]["kind"], movements[0]["quantity"], movements[0]["note"]) == ("receive", 5, "slip 77")
    with open_reader(demo_engine) as session:
        assert all(result.ok for result in check_database(session))


def test_booking_twice_books_once_and_a_list_that_changed_since_is_looked_at_again(client):
    delivery = begin(client, location="counter")
    scan(client, delivery, BELT)
    stale = client.post(f"{delivery}/post", data={"seen": "1"}, headers=PAGE)
    assert (stale.status_code, "meanwhile" in stale.text) == (409, True)
    assert book(client, delivery) == send(client, f"{delivery}/post", seen="0")
    assert read_places(client)["counter"] == 15


def test_an_unknown_code_waits_beside_the_list_until_a_person_names_it(client):
    delivery = begin(client, location="counter")
    page = scan(client, delivery, "banana", "banana", BELT)
    assert "<code>banana</code> <b>2 ×</b>" in page
    page = send(client, f"{delivery}/set-aside", code="banana", part="Quarrox QX99259G")
    assert "Quarrox QX99259G" in page
    assert "banana" not in page
    scan(client, delivery, "cherry")
    assert "cherry" in book(client, delivery)


def test_lines_are_corrected_and_taken_off(client):
    delivery = begin(client, location="branch")
    page = scan(client, delivery, BELT, OTHER)
    numbers = re.findall(r'name="part" value="(\d+)"', page)
    send(client, f"{delivery}/lines", part=numbers[0], do="remove")
    page = send(client, f"{delivery}/lines", part=numbers[1], pieces="3")
    assert "Book 3 pieces as received" in page
    wrong = client.post(f"{delivery}/lines", data={"part": numbers[1], "pieces": "-3"}, headers=PAGE)
    assert wrong.status_code == 422


def test_a_delivery_is_compared_with_its_order_and_what_is_beyond_it_is_received_beside(client, order):
    delivery = begin(client, order=order, location="branch")
    waiting = client.get(delivery, headers=PAGE).text
    assert "Ordered and not scanned" in waiting
    page = scan(client, delivery, BELT, "=10", OTHER)
    assert "12 ordered, 2 still to come" in page
    assert "the order does not wait for it; received beside it" in page
    book(client, delivery)
    stored = client.get(f"/api/orders/{order}").json()
    assert (stored["state"], stored["lines"][0]["received"]) == ("sent", 10)
    second = begin(client, order=order)
    scan(client, second, BELT, "=5")
    book(client, second)
    stored = client.get(f"/api/orders/{order}").json()
    assert (stored["state"], stored["lines"][0]["received"]) == ("closed", 12)
    assert read_places(client)["counter"] == 14 + 15


def test_an_order_that_was_not_sent_is_refused_on_the_start_page(client):
    body = {"supplier": "kestrow", "location": "counter", "lines": [NAMES | {"quantity": 12}]}
    name = client.post("/api/orders", json=body, headers={"Idempotency-Key": "o"}).json()["order"]
    page = client.post("/receive", data={"order": name}, headers=PAGE)
    assert (page.status_code, "mark it as sent first" in page.text) == (409, True)


def test_a_list_whose_order_was_closed_meanwhile_is_booked_without_it(client, order):
    delivery = begin(client, order=order)
    page = scan(client, delivery, BELT)
    assert "without the order" not in page
    client.post(f"/api/orders/{order}/state", json={"state": "closed"}, headers={"Idempotency-Key": "c"})
    seen = re.search(r'name="seen" value="(\d+)"', page)
    assert seen
    refused = client.post(f"{delivery}/post", data={"seen": seen[1]}, headers=PAGE)
    assert refused.status_code == 409
    assert "Book them without the order" in refused.text
    assert "1 piece of 1 part was booked" in send(client, f"{delivery}/post", seen=seen[1], drop="order")
    assert read_places(client)["counter"] == 15


def test_a_discarded_list_is_gone_and_booked_nothing(client):
    delivery = begin(client, location="counter")
    scan(client, delivery, BELT)
    send(client, f"{delivery}/discard")
    assert client.get(delivery, headers=PAGE).status_code == 404
    assert read_places(client)["counter"] == 14


def receive(client: TestClient, key: str = "r-1", **body):
    post = {"location": "counter"} | body
    return client.post("/api/stock/receipts", json=post, headers={"Idempotency-Key": key})


def test_a_delivery_over_http_takes_names_and_codes_and_is_booked_once(client):
    lines = [NAMES | {"quantity": 2}, {"code": f"]E0{BELT}"}, {"code": OTHER, "quantity": 4}]
    first, again = receive(client, lines=lines), receive(client, lines=lines)
    assert (first.status_code, first.text) == (201, again.text)
    belt = next(line for line in first.json()["lines"] if line["part_number"] == "LP-669-18-30")
    assert (belt["quantity"], belt["on_hand"]) == (3, 17)
    assert read_places(client)["counter"] == 17


def test_one_unknown_code_books_nothing(client, demo_engine: Engine):
    with demo_engine.connect() as connection:
        before = connection.execute(text("SELECT count(*) FROM stock_movement")).scalar_one()
    answer = receive(client, lines=[{"code": BELT}, {"code": "banana"}])
    assert answer.status_code == 404
    assert "banana" in answer.json()["detail"]
    with demo_engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM stock_movement")).scalar_one() == before
    assert receive(client, lines=[{"code": BELT}]).status_code == 201


@pytest.mark.parametrize(
    "line", [{}, {"maker": "Brackenloop"}, NAMES | {"code": BELT}, {"code": BELT, "quantity": 0}]
)
def test_a_line_that_names_no_part_or_two_is_refused(client, line):
    assert receive(client, lines=[line]).status_code == 422


def test_an_order_is_received_where_it_was_ordered_for(client, order):
    wrong = receive(client, location="branch", order=order, lines=[{"code": BELT}])
    assert (wrong.status_code, wrong.json()["field"]) == (422, "location")
    right = receive(client, order=order, lines=[{"code": BELT, "quantity": 15}]).json()["lines"][0]
    assert (right["for_order"], right["beyond_order"], right["on_hand"]) == (12, 3, 29)
    assert receive(client, "r-2", order=order, lines=[{"code": BELT}]).status_code == 409
