"""The shelf, orders and labels as pages; labels are read back with zxing-cpp, a general-purpose library."""

import re
from datetime import UTC, datetime

import numpy as np
import pytest
import zxingcpp
from fastapi.testclient import TestClient

from api.pages.labels import draw_code128, draw_qr

PAGE = {"accept": "text/html"}
BELT = "/stock/Brackenloop/LP-669-18-30"


def look(client: TestClient, path: str, status: int = 200) -> str:
    answer = client.get(path, headers=PAGE)
    assert answer.status_code == status, answer.text
    assert "<style" not in answer.text
    assert not re.search(r"\son[a-z]+=|\sstyle=", answer.text)
    return answer.text


def read_key(page: str) -> str:
    found = re.search(r'name="key" value="([^"]+)"', page)
    assert found
    return found.group(1)


def test_the_shelf_is_searched_and_its_value_is_told(client):
    page = look(client, "/stock?q=lp-669")
    assert "LP-669-18-30" in page
    assert "Worth" in page
    assert "FQ/" not in page


def test_a_part_shows_figures_ledger_and_plot(client):
    page = look(client, BELT)
    assert "Sum of all movements" in page
    assert 'aria-labelledby="stock-plot-title stock-plot-desc"' in page
    assert "Then on hand" in page


def test_a_movement_booked_twice_by_a_double_click_counts_once(client):
    form = {"key": read_key(look(client, BELT)), "kind": "issue", "location": "counter", "quantity": "2"}
    for _ in range(2):
        answer = client.post(BELT, data=form, headers=PAGE, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, BELT)
    places = client.get("/api/stock?part=LP-669-18-30").json()["parts"][0]["places"]
    assert {place["location"]: place["on_hand"] for place in places} == {"counter": 12, "branch": 1}


def test_more_than_there_is_is_explained_on_the_page(client):
    form = {"key": "k", "kind": "issue", "location": "counter", "quantity": "99"}
    answer = client.post(BELT, data=form, headers=PAGE)
    assert answer.status_code == 409
    assert "14 on hand" in answer.text


def test_low_stock_explains_every_figure(client):
    page = look(client, "/stock/low?location=counter&as_of=2026-11-20")
    assert "on the shelf" in page
    assert page.count("Level less available and on order") == page.count('<details class="all-figures">') > 25
    look(client, "/stock/low?location=nowhere", 404)


def test_long_low_stock_list_goes_on_over_pages(client):
    lines = client.get("/api/stock/low?location=counter&as_of=2026-11-20").json()["lines"]
    wanted = [line["part_number"] for line in lines if line["list"] == "order" and not line["needs_person"]]
    assert len(wanted) > 25
    first = look(client, "/stock/low?location=counter&as_of=2026-11-20&group=order")
    second = look(client, "/stock/low?location=counter&as_of=2026-11-20&group=order&page=2")
    assert first.count('<p class="low-head">') == 25
    assert wanted[0] in first
    assert wanted[25] in second
    assert "More of" in first
    assert "Before these" in second


def test_a_proposal_becomes_an_order_that_is_sent_and_received_by_scanner(client):
    page = look(client, "/orders?location=branch")
    form = {"key": read_key(page), "supplier": "kestrow", "location": "branch", "shelf": "branch"}
    assert client.post("/orders", data=form, headers=PAGE).status_code == 200
    name = client.get("/api/orders").json()["orders"][0]["order"]
    line = client.get(f"/api/orders/{name}").json()["lines"][0]
    for state in ("approved", "sent"):
        client.post(f"/orders/{name}", data={"key": f"{name}-{state}", "state": state}, headers=PAGE)
    scan = {"key": "scan", "code": f"/parts/{line['maker']}/{line['part_number']}", "quantity": "1"}
    received = client.post(f"/orders/{name}", data=scan, headers=PAGE)
    assert received.status_code == 200, received.text
    assert "received; " in received.text
    assert client.get(f"/api/orders/{name}").json()["lines"][0]["received"] == 1


def fill_pixels(path: str, width: int, height: int, scale: int) -> np.ndarray:
    """Grey picture of a path of rectangles, one unit ``scale`` pixels wide."""
    picture = np.full((height * scale, width * scale), 255, np.uint8)
    for found in re.finditer(r"M([\d.]+) ([\d.]+)L([\d.]+) [\d.]+L[\d.]+ ([\d.]+)L", path):
        left, top, right, bottom = (int(float(n)) * scale for n in found.groups())
        picture[top:bottom, left:right] = 0
    return picture


@pytest.mark.parametrize("text", ["/parts/Brackenloop/LP-669-18-30", "/parts/Dulcamar/55%20120%207"])
def test_the_square_code_is_read_back(text):
    path, modules = draw_qr(text)
    found = zxingcpp.read_barcodes(fill_pixels(path, modules, modules, 4))
    assert [item.text for item in found] == [text]


@pytest.mark.parametrize("text", ["LP-669-18-30", "TF41695/4", "55 120 7", "KH 6201-2RS/C3"])
def test_the_bars_are_read_back(text):
    path, modules = draw_code128(text)
    picture = np.pad(fill_pixels(path, modules, 20, 3), ((20, 20), (0, 0)), constant_values=255)
    found = zxingcpp.read_barcodes(picture)
    assert [(item.text, item.format) for item in found] == [(text, zxingcpp.BarcodeFormat.Code128)]


def test_labels_are_made_for_a_part_and_for_a_search(client):
    page = look(client, "/labels?part=Brackenloop%20LP-669-18-30")
    assert page.count('class="label"') == 1
    assert look(client, "/labels?q=sedgeholm").count('class="label"') > 3
    assert "not in the catalogue" in look(client, "/labels?part=nothing-like-it")


def test_the_day_of_a_movement_is_that_of_the_load(client):
    """The demo is loaded on 2026-11-20 by the test's own clock."""
    assert datetime(2026, 11, 20, tzinfo=UTC).strftime("%Y-%m-%d") in look(client, BELT)
