"""Terms of suppliers over HTTP and on the page, and what they decide about an order.

Suppliers: suppliers.csv of the demo catalogue (kestrow: EUR, minimum order 80.00).
"""

import re

import pytest
from fastapi.testclient import TestClient

from kb.database import open_reader
from kb.lookups.check import check_database

PAGE = {"accept": "text/html"}
DRAFT = "/api/order-draft?location=counter&as_of=2026-11-20&supplier=alderton"


def write(client: TestClient, supplier: str, key: str = "t-1", **body):
    headers = {"Idempotency-Key": key}
    return client.post(f"/api/suppliers/{supplier}/terms", json=body, headers=headers)


def draft(client: TestClient, **question):
    return client.get(DRAFT, params=question or None).json()["orders"][0]


def test_a_sheet_s_minimum_stands_in_for_free_freight_until_terms_are_written_down(client):
    before = client.get("/api/suppliers/kestrow").json()
    assert (before["minimum_order_minor"], before["free_freight_from_minor"]) == (8000, 8000)
    assert (before["smallest_order_minor"], before["terms"]) == (None, None)
    answer = write(client, "kestrow", smallest_order_minor=5000, freight_minor=900, made_by="ann")
    assert answer.status_code == 201, answer.text
    after = client.get("/api/suppliers/kestrow").json()
    assert (after["smallest_order_minor"], after["free_freight_from_minor"]) == (5000, None)
    assert (after["freight_minor"], after["terms"]["made_by"]) == (900, "ann")
    assert after["minimum_order_minor"] == 8000


def test_empty_terms_take_back_what_was_written_down(client, demo_engine):
    write(client, "kestrow", freight_minor=900)
    assert write(client, "kestrow", "t-2").json()["terms"] is None
    with open_reader(demo_engine) as session:
        assert all(result.ok for result in check_database(session))


@pytest.mark.parametrize(
    "body",
    [
        {"freight_minor": -1},
        {"freight_minor": 1.5},
        {"margin_percent": 2000},
        {"colour": "red"},
        {"smallest_order_minor": 5000, "free_freight_from_minor": 4000},
    ],
)
def test_unusable_terms_are_refused(client, body):
    assert write(client, "kestrow", **body).status_code == 422
    assert client.get("/api/suppliers/kestrow").json()["terms"] is None


def test_terms_of_an_unknown_supplier_name_the_nearest(client):
    answer = write(client, "kestow", freight_minor=900)
    assert (answer.status_code, answer.json()["nearest"][0]) == (404, "kestrow")


def test_written_freight_and_margin_decide_like_those_told_with_the_question(client):
    """A margin of nothing: waiting costs nothing, so any freight is too much; a margin told outranks it."""
    value = draft(client)["order_value_minor"]
    free_from = value + 1000
    write(client, "alderton", free_freight_from_minor=free_from, freight_minor=1, margin_percent=0)
    waiting = draft(client)
    assert (waiting["decision"], waiting["missing_value_minor"]) == ("wait", 1000)
    going = draft(client, location="counter", as_of="2026-11-20", supplier="alderton", margin=100)
    assert (going["decision"], going["pays_freight"]) == ("order", True)


def test_without_a_margin_a_person_decides_and_no_cost_of_waiting_is_made_up(client):
    value = draft(client)["order_value_minor"]
    write(client, "alderton", free_freight_from_minor=value + 1000, freight_minor=900)
    answer = draft(client)
    assert answer["decision"] == "not_known"
    assert "10.00 short of free freight" in answer["text"]
    assert "without the margin" in answer["text"]
    assert "costs about" not in answer["text"]


def test_below_the_smallest_order_nothing_goes_out_whatever_waiting_costs(client):
    value = draft(client)["order_value_minor"]
    write(client, "alderton", smallest_order_minor=value + 500, freight_minor=1, margin_percent=100)
    answer = draft(client)
    assert (answer["decision"], answer["missing_value_minor"]) == ("wait", 500)
    assert "5.00 are missing" in answer["text"]
    codes = {reason["code"] for line in answer["lines"] for reason in line["reasons"]}
    assert "waiting_for_supplier_minimum" in codes
    write(client, "alderton", "t-2", smallest_order_minor=value)
    assert draft(client)["decision"] == "order"


def post_page(client: TestClient, **form):
    page = client.get("/suppliers", headers=PAGE).text
    key = re.search(r'name="key" value="([^"]+)"', page)
    assert key
    return client.post("/suppliers/kestrow", data={"key": key[1]} | form, headers=PAGE)


def test_terms_are_written_on_the_page_as_a_person_writes_money(client):
    page = post_page(client, free_freight_from="120", freight="7,50", margin="35", made_by="ann")
    assert page.status_code == 200
    assert "Kept." in page.text
    stored = client.get("/api/suppliers/kestrow").json()
    assert (stored["free_freight_from_minor"], stored["freight_minor"]) == (12000, 750)
    assert (stored["margin_percent"], stored["terms"]["made_by"]) == (35.0, "ann")
    assert "more in margin than 7.50 EUR of freight" in page.text


@pytest.mark.parametrize("typed", ["much", "-5", "1.234", "nan", "1e99"])
def test_an_amount_that_is_none_is_said_beside_the_form_and_what_was_typed_stays(client, typed):
    page = post_page(client, freight=typed, note="by phone")
    assert page.status_code == 422
    assert 'role="alert"' in page.text
    assert 'value="by phone"' in page.text
    assert client.get("/api/suppliers/kestrow").json()["terms"] is None


def test_suppliers_come_page_by_page(client):
    whole = client.get("/api/suppliers").json()
    first = client.get("/api/suppliers?limit=1").json()
    rest = client.get("/api/suppliers", params={"limit": 200, "after": first["after"]}).json()
    assert first["suppliers"] + rest["suppliers"] == whole["suppliers"]
    assert (whole["after"], rest["after"]) == (None, None)
    assert client.get("/api/suppliers?after=!").status_code == 422
