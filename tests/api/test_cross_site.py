"""Changes asked for by pages of other sites are not made.

Source of the cases: OWASP Cross-Site Request Forgery Prevention (origin and fetch metadata), from memory.
"""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from api.app import create_app

ORIGIN = "http://127.0.0.1:8765"
FOREIGN = [
    {"origin": "https://evil.test"},
    {"origin": "null"},
    {"origin": "http://127.0.0.1:3000"},
    {"origin": "http://127.0.0.1"},
    {"origin": "http://127.0.0.1:8765.evil.test"},
    {"origin": "http://[bad"},
    {"origin": "file://127.0.0.1:8765"},
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {"sec-fetch-site": "nonsense"},
    {"origin": ORIGIN, "sec-fetch-site": "cross-site"},
]
OWN = [
    {},
    {"origin": ORIGIN},
    {"sec-fetch-site": "same-origin", "origin": ORIGIN},
    {"sec-fetch-site": "none"},
]


def build_client(engine: Engine, calls: list[str]) -> TestClient:
    app = create_app(engine, allowed_hosts=["shop.test"])

    @app.api_route("/api/stock/note", methods=["POST", "PUT", "PATCH", "DELETE", "GET"])
    def note() -> str:
        calls.append("made")
        return "made"

    return TestClient(app, base_url=ORIGIN)


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
@pytest.mark.parametrize("headers", FOREIGN)
def test_change_asked_for_by_another_site_is_not_made(demo_engine: Engine, method, headers):
    calls: list[str] = []
    response = build_client(demo_engine, calls).request(method, "/api/stock/note", headers=headers)
    assert response.status_code == 403
    assert response.json()["type"] == "urn:counterhand:problem:cross-site"
    assert calls == []


@pytest.mark.parametrize("headers", OWN)
def test_change_asked_for_by_own_pages_or_programs_is_made(demo_engine: Engine, headers):
    calls: list[str] = []
    assert build_client(demo_engine, calls).post("/api/stock/note", headers=headers).status_code == 200
    assert calls == ["made"]


def test_public_name_of_a_proxy_is_an_own_site(demo_engine: Engine):
    headers = {"origin": "https://shop.test"}
    assert build_client(demo_engine, []).post("/api/stock/note", headers=headers).status_code == 200


def test_reading_is_open_to_links_from_anywhere(demo_engine: Engine):
    headers = {"sec-fetch-site": "cross-site"}
    assert build_client(demo_engine, []).get("/api/stock/note", headers=headers).status_code == 200


def test_signing_in_for_somebody_else_is_refused(demo_engine: Engine):
    response = build_client(demo_engine, []).post(
        "/sign-in", data={"key": "0" * 40}, headers={"origin": "https://evil.test"}
    )
    assert response.status_code == 403


@pytest.mark.parametrize("method", ["GET", "OPTIONS", "POST"])
def test_no_other_site_is_allowed_to_read_answers(demo_engine: Engine, method):
    headers = {"origin": "https://evil.test", "access-control-request-method": "POST"}
    response = build_client(demo_engine, []).request(method, "/api/stock/note", headers=headers)
    assert not [name for name in response.headers if name.startswith("access-control")]
