"""Every route declares its role, and every role gets exactly what the table gives it.

The table of roles is a judgement of this project: looking up for all, booking and prices for ``stock``,
changing the catalogue for ``admin``.
"""

from datetime import UTC, datetime

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from api.app import create_app
from api.roles import SAFE_METHODS, find_needed_role, find_opening
from kb.database import open_writer
from kb.edits.access import add_access_key
from kb.rules.access import is_allowed
from kb.terms import Role

ORIGIN = "http://127.0.0.1"
CALLERS = (None, Role.READ, Role.STOCK, Role.ADMIN)


def fill(path: str) -> str:
    while "{" in path:
        start, end = path.index("{"), path.index("}")
        path = f"{path[:start]}zz{path[end + 1 :]}"
    return path


def find_undeclared(routes: list[tuple[str, str]]) -> list[str]:
    return [path for _, path in routes if find_opening(fill(path)) is None]


@pytest.fixture
def guarded(demo_engine: Engine) -> FastAPI:
    return create_app(demo_engine, always_needs_key=True)


@pytest.fixture
def headers(demo_engine: Engine) -> dict[Role | None, dict[str, str]]:
    now = datetime.now(UTC)
    with open_writer(demo_engine) as session:
        keys = {role: add_access_key(session, role.value, role, now=now).key for role in Role}
    return {None: {}} | {role: {"Authorization": f"Bearer {key}"} for role, key in keys.items()}


def test_every_route_declares_its_role(guarded: FastAPI, list_routes):
    routes = list_routes(guarded)
    assert {"/api/fit", "/", "/static", "/metrics", "/sign-in"} <= {path for _, path in routes}
    assert find_undeclared(routes) == []


def test_new_room_without_a_role_is_found(guarded: FastAPI, list_routes):
    @guarded.get("/api/attic/{box}")
    def look_into(box: str) -> str:
        return box

    assert find_undeclared(list_routes(guarded)) == ["/api/attic/{box}"]


def test_every_route_answers_every_caller_as_declared(guarded: FastAPI, headers, list_routes):
    client = TestClient(guarded, base_url=ORIGIN, follow_redirects=False, raise_server_exceptions=False)
    seen = 0
    for method, path in list_routes(guarded):
        needed = find_needed_role(method, fill(path))
        for caller in CALLERS:
            status = client.request(method, fill(path), headers=headers[caller]).status_code
            refusal = None
            if needed is not None and caller is None:
                refusal = 401
            elif needed is not None and not is_allowed(caller, needed):
                refusal = 403
            assert status == refusal if refusal else status != 401, (method, path, caller, status)
            if refusal is None and not path.startswith("/sign"):
                assert status != 403, (method, path, caller)
            seen += 1
    assert seen >= 4 * 20


@pytest.mark.parametrize(
    ("method", "path", "needed"),
    [
        ("GET", "/api/fit", Role.READ),
        ("GET", "/api/parts/Brackenloop/x/y", Role.READ),
        ("GET", "/api/stock", Role.READ),
        ("GET", "/api/stock/low", Role.READ),
        ("POST", "/api/stock/moves", Role.STOCK),
        ("GET", "/api/orders", Role.STOCK),
        ("POST", "/api/orders/7/receive", Role.STOCK),
        ("POST", "/api/imports", Role.ADMIN),
        ("DELETE", "/api/imports/b-1", Role.ADMIN),
        ("GET", "/api/imports/b-1", Role.ADMIN),
        ("POST", "/api/parts/x/y", Role.ADMIN),
        ("PATCH", "/api/engines/x", Role.ADMIN),
        ("GET", "/metrics", Role.READ),
        ("GET", "/healthz", None),
        ("POST", "/sign-in", None),
        ("GET", "/no/such/address", Role.READ),
        ("POST", "/no/such/address", Role.ADMIN),
        ("BREW", "/api/fit", Role.ADMIN),
        ("POST", "/healthz", Role.ADMIN),
    ],
)
def test_roles_of_the_table(method, path, needed):
    assert find_needed_role(method, path) is needed


def test_safe_methods_are_those_of_the_standard():
    # RFC 9110, section 9.2.1.
    assert {"GET", "HEAD", "OPTIONS", "TRACE"} == SAFE_METHODS
