"""HEAD is answered like GET, without the body. Source: RFC 9110, sections 9.3.2 and 15.5.6 (from memory)."""

import pytest
from fastapi.testclient import TestClient

PAGE = {"accept": "text/html"}


@pytest.mark.parametrize(
    "path", ["/", "/stock", "/stock/low", "/api/stock", "/healthz", "/static/shelf.css", "/stock/No/SUCH-1"]
)
def test_head_has_the_status_and_headers_of_get_and_no_body(client: TestClient, path: str):
    whole, head = client.get(path, headers=PAGE), client.head(path, headers=PAGE)
    assert (head.status_code, head.content) == (whole.status_code, b"")
    for name in ("content-type", "etag"):
        assert head.headers.get(name) == whole.headers.get(name)
    # Pages carry a new posting key each time, always of one length.
    assert head.headers.get("content-length") == whole.headers.get("content-length")


def test_head_where_nothing_is_read_names_the_methods_that_are(client: TestClient):
    answer = client.head("/api/stock/moves")
    assert (answer.status_code, answer.headers["allow"]) == (405, "POST")
    assert client.post("/api/stock/low").headers["allow"] == "GET, HEAD"


def test_head_is_counted_under_its_own_name_and_route(client: TestClient):
    client.head("/api/stock/low")
    assert 'method="HEAD",route="/api/stock/low",status="200"' in client.get("/metrics").text
