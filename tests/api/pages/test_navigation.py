"""Every page that exists can be reached from every page, and what is named exists."""

import re

from fastapi.testclient import TestClient

PAGE = {"accept": "text/html"}
NO_PAGES = ("/api", "/healthz", "/metrics", "/static")
# Pages that are reached from others only: what they show hangs on what was asked there.
REACHED_FROM_OTHERS = {"/sign-in", "/engines/pick", "/find/pick", "/find/results"}


def read_links(page: str, name: str) -> set[str]:
    nav = re.search(rf'<nav[^>]*aria-label="{name}">(.*?)</nav>', page, re.DOTALL)
    assert nav is not None
    return set(re.findall(r'href="([^"]+)"', nav[1]))


def test_every_page_that_is_named_answers(client: TestClient):
    for address in read_links(client.get("/", headers=PAGE).text, "All pages"):
        response = client.get(address, headers=PAGE)
        assert response.status_code == 200, address
        assert response.headers["content-type"].startswith("text/html")


def test_every_page_without_a_name_in_its_address_is_in_the_navigation(client: TestClient, list_routes):
    named = read_links(client.get("/", headers=PAGE).text, "All pages")
    pages = {
        path
        for method, path in list_routes(client.app)
        if method == "GET" and "{" not in path and not path.startswith(NO_PAGES)
    }
    assert len(pages) > 20
    assert pages - named - REACHED_FROM_OTHERS == set()


def test_short_navigation_is_part_of_the_whole_and_marks_where_one_is(client: TestClient):
    page = client.get("/count", headers=PAGE).text
    assert read_links(page, "Pages") <= read_links(page, "All pages")
    assert re.findall(r'<a href="([^"]+)" aria-current="page"', page) == ["/count"]
