"""Every list of the service comes page by page: its pages, one after the other, are the whole list.

``Link`` with ``rel="next"`` names the next page (published: RFC 8288).
"""

from uuid import uuid4

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

PART = "maker=Brackenloop&part_number=LP-669-18-30"
LISTS = {
    "/api/engines?": "engines",
    "/api/imports?": "imports",
    "/api/job-sheets?": "jobs",
    "/api/jobs?": "jobs",
    "/api/machines?": "machines",
    "/api/order-draft?": "orders",
    "/api/orders?": "orders",
    "/api/stock?": "parts",
    "/api/stock/low?": "lines",
    "/api/stock/levels?": "levels",
    f"/api/stock/movements?{PART}": "movements",
    f"/api/stock/demand?{PART}": "days",
    "/api/suppliers?": "suppliers",
}
# One thing with all that belongs to it, or no more than a page of best matches.
NOT_PAGED = {
    "/api/engines/{engine}/alternatives",
    "/api/find",
    "/api/fit",
    "/api/read",
    "/api/stock/backtest",
    "/api/stock/value",
    "/api/tell-apart",
    "/api/trace",
}


def send(client: TestClient, path: str, **body) -> None:
    answer = client.post(path, json=body, headers={"Idempotency-Key": uuid4().hex})
    assert answer.status_code == 201, answer.text


@pytest.fixture
def full_client(client: TestClient) -> TestClient:
    """A service of whose every list there are three entries or more."""
    belt = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}
    for number in (1, 2, 3):
        send(client, "/api/jobs", machine=f"AB {number}", location="counter", lines=[])
        send(
            client, "/api/orders", supplier="kestrow", location="counter", lines=[belt | {"quantity": number}]
        )
        send(client, "/api/stock/moves", location="counter", kind="issue", quantity=number, **belt)
        reading = {"engine": "plover-50-s", "position": "drive_belt", "quantity": "top_width", "value": 17.5}
        send(client, f"/api/machines/AB {number}/readings", **reading)
    for location in (None, "counter", "branch"):
        send(client, "/api/stock/levels", location=location, level=2, why="a fleet", made_by="ann", **belt)
    return client


def walk(client: TestClient, address: str, name: str, *, limit: int) -> list[list[dict]]:
    """The pages of a list, from the first to the one that names no other."""
    pages, following = [], f"{address}&limit={limit}"
    while following:
        page = client.get(following)
        pages.append(page.json()[name])
        following = page.headers.get("link", "").removeprefix("<").removesuffix('>; rel="next"')
        assert (following == "") == (page.json()["after"] is None)
    return pages


@pytest.mark.parametrize("address", LISTS)
def test_the_pages_of_a_list_are_the_whole_list(full_client, address):
    name = LISTS[address]
    whole = [item for page in walk(full_client, address, name, limit=200) for item in page]
    limit = 2 if len(whole) < 20 else len(whole) // 3
    pages = walk(full_client, address, name, limit=limit)
    assert [item for page in pages for item in page] == whole
    assert {len(page) for page in pages[:-1]} <= {limit}
    assert len(pages) > 1 or name == "imports"


@pytest.mark.parametrize("address", LISTS)
def test_a_mark_that_was_made_up_and_a_page_of_nothing_are_refused(client, address):
    refused = client.get(f"{address}&after=!made-up")
    assert (refused.status_code, refused.json()["field"]) == (422, "after")
    assert [client.get(f"{address}&limit={limit}").status_code for limit in (0, 201)] == [422, 422]


def test_no_list_is_forgotten_here(client):
    """Every address that asks for more than one thing is a list of pages, or said to be none."""
    asked = {
        route.path_format
        for route in _walk(client.app.routes)
        if route.path.startswith("/api/")
        and "GET" in route.methods
        and not route.path.endswith(("}", "/csv"))
    }
    one_thing = {"/api/engines/{engine}/card", "/api/engines/{engine}/gauge", "/api/engines/{engine}/rollers"}
    assert asked - one_thing - NOT_PAGED == {address.partition("?")[0] for address in LISTS}


def _walk(routes):
    for route in routes:
        if isinstance(route, APIRoute):
            yield route
        yield from _walk(getattr(getattr(route, "original_router", None), "routes", ()))
