"""What holds for every answer of the web service, whatever the route."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient
from openapi_spec_validator import validate
from sqlalchemy import Engine
from sqlmodel import Session, select

from api.app import create_app
from api.dependencies import Reader
from api.middleware import has_tag
from kb.database import open_database
from kb.errors import Conflict, Unavailable
from kb.tables.engines import Engine as StoredEngine

ORIGIN = "http://127.0.0.1"
# Source: security headers as the OWASP HTTP headers advice lists them (names from memory).
EXPECTED_HEADERS = {
    "content-security-policy",
    "x-content-type-options",
    "x-frame-options",
    "referrer-policy",
    "permissions-policy",
    "cross-origin-opener-policy",
    "cross-origin-resource-policy",
    "cache-control",
}


def list_operations(client: TestClient) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Method, path and description of every operation in the OpenAPI document."""
    document = client.get("/api/openapi.json").json()
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            yield method.upper(), path, operation


def fill_with_nonsense(path: str) -> str:
    """A path whose names are in no catalogue."""
    while "{" in path:
        start, end = path.index("{"), path.index("}")
        path = f"{path[:start]}zz-no-such-name{path[end + 1 :]}"
    return path


def has_problem_shape(response: Any) -> bool:
    """RFC 9457, section 3.1: type, title, status, detail, instance; media type of section 6.1."""
    if response.headers["content-type"] != "application/problem+json":
        return False
    body = response.json()
    return (
        {"type", "title", "status", "detail", "instance"} <= body.keys()
        and body["status"] == response.status_code
        and body["type"].startswith("urn:counterhand:problem:")
    )


NONSENSE = {"limit": "zz", "engine": "zz", "as_of": "zz", "location": "zz", "state": "zz"}


def test_every_operation_answers_nonsense_with_a_problem(client: TestClient):
    seen = 0
    for method, path, operation in list_operations(client):
        if not operation.get("parameters") and "requestBody" not in operation:
            continue  # nothing can be wrong with the question
        response = client.request(method, fill_with_nonsense(path), params=NONSENSE)
        assert 400 <= response.status_code < 500, (method, path, response.status_code)
        assert has_problem_shape(response), (method, path, response.text)
        seen += 1
    assert seen >= 5


def test_every_operation_refuses_another_method_with_a_problem(client: TestClient):
    for _, path, _ in list_operations(client):
        response = client.request("TRACE", fill_with_nonsense(path))
        assert response.status_code == 405, path
        assert has_problem_shape(response)


def test_wrong_method_names_the_methods_there_are(client: TestClient):
    assert client.post("/api/fit").headers["allow"] == "GET, HEAD"


def test_every_operation_declares_its_problems(client: TestClient):
    for method, path, operation in list_operations(client):
        declared = operation["responses"]
        assert "500" in declared, (method, path)
        for status, response in declared.items():
            if status >= "400":
                assert list(response["content"]) == ["application/problem+json"], (method, path, status)


def test_openapi_document_is_valid(client: TestClient):
    validate(client.get("/api/openapi.json").json())


@pytest.mark.parametrize(
    "path",
    [
        "/api/fit?engine=plover-50-s&asked=669-18-30",
        "/api/fit",
        "/api/engines/zz",
        "/no/such/address",
        "/static/counterhand.css",
        "/static/no-such-file.css",
        "/healthz",
    ],
)
def test_security_headers_stand_on_every_answer(client: TestClient, path: str):
    headers = client.get(path).headers
    assert headers.keys() >= EXPECTED_HEADERS
    assert headers["x-content-type-options"] == "nosniff"
    assert "'unsafe-inline'" not in headers["content-security-policy"]
    assert headers["content-security-policy"].startswith("default-src 'none'")
    assert "server" not in headers
    assert len(headers["x-request-id"]) == 16


def test_strict_transport_is_asked_for_only_under_tls(demo_engine: Engine):
    app = create_app(demo_engine)
    plain = TestClient(app, base_url=ORIGIN).get("/healthz")
    secure = TestClient(app, base_url="https://127.0.0.1").get("/healthz")
    assert "strict-transport-security" not in plain.headers
    assert secure.headers["strict-transport-security"] == "max-age=31536000"


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.0.0.1:8000", "localhost", "LOCALHOST:81", "[::1]", "[::1]:81", "counter.test"]
)
def test_known_hosts_are_answered(demo_engine: Engine, host: str):
    client = TestClient(create_app(demo_engine, allowed_hosts=["counter.test"]), base_url=ORIGIN)
    assert client.get("/healthz", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.test", "", "127.0.0.1.evil.test", "evil.test:8000", "127.0.0.1:x", "localhost@evil.test"]
)
def test_unknown_hosts_are_refused(client: TestClient, host: str):
    response = client.get("/healthz", headers={"host": host})
    assert response.status_code == 400
    assert has_problem_shape(response)
    assert response.headers.keys() >= EXPECTED_HEADERS


def test_declared_body_above_the_limit_is_refused(demo_engine: Engine):
    client = TestClient(create_app(demo_engine, max_body_bytes=1000), base_url=ORIGIN)
    response = client.post("/api/fit", content=b"x" * 1001)
    assert response.status_code == 413
    assert has_problem_shape(response)


@pytest.mark.parametrize(("size", "status"), [(1000, 200), (1001, 413)])
def test_chunked_body_is_cut_at_the_limit(demo_engine: Engine, size: int, status: int):
    app = create_app(demo_engine, max_body_bytes=1000)

    @app.post("/api/echo")
    def count_pairs(pairs: list[int]) -> int:
        return len(pairs)

    digits = b"[" + b"1," * ((size - 3) // 2) + b"1" + b" " * ((size - 3) % 2) + b"]"
    assert len(digits) == size
    client = TestClient(app, base_url=ORIGIN)
    chunks = (digits[start : start + 100] for start in range(0, size, 100))
    response = client.post("/api/echo", content=chunks, headers={"content-type": "application/json"})
    assert response.status_code == status
    assert status == 200 or has_problem_shape(response)


def test_reads_carry_an_entity_tag_and_answer_304(client: TestClient):
    path = "/api/fit?engine=plover-50-s&asked=669-18-30"
    first = client.get(path)
    tag = first.headers["etag"]
    again = client.get(path, headers={"If-None-Match": f'"other", W/{tag}'})
    assert again.status_code == 304
    assert again.content == b""
    assert again.headers["etag"] == tag
    assert again.headers.keys() >= EXPECTED_HEADERS
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


def test_errors_carry_no_entity_tag(client: TestClient):
    assert "etag" not in client.get("/api/engines/zz", headers={"If-None-Match": "*"}).headers


def test_entity_tags_are_compared_as_a_list():
    # RFC 9110, section 13.1.2: a list of tags, weak comparison, or an asterisk.
    assert has_tag('W/"a"', '"a"')
    assert not has_tag('"ab"', '"a"')


def test_unforeseen_error_shows_a_request_id_only(demo_engine: Engine, caplog: pytest.LogCaptureFixture):
    app = create_app(demo_engine)

    @app.get("/api/broken")
    def break_down() -> None:
        raise RuntimeError("secret detail of the inside")

    response = TestClient(app, base_url=ORIGIN).get("/api/broken")
    assert response.status_code == 500
    assert has_problem_shape(response)
    assert "secret" not in response.text
    assert response.json()["request_id"] == response.headers["x-request-id"]
    assert response.headers["x-request-id"] in caplog.text
    assert response.headers.keys() >= EXPECTED_HEADERS


def test_database_that_does_not_answer_is_503_with_retry_after(demo_engine: Engine):
    app = create_app(demo_engine)

    @app.get("/api/locked")
    def ask_locked() -> None:
        raise Unavailable("The database is busy with another write; try again in a moment.")

    response = TestClient(app, base_url=ORIGIN).get("/api/locked")
    assert response.status_code == 503
    assert response.headers["retry-after"].isdigit()
    assert has_problem_shape(response)


def test_contradiction_is_409(demo_engine: Engine):
    app = create_app(demo_engine)

    @app.post("/api/contradict")
    def contradict() -> None:
        raise Conflict("There are 2 pieces, not 3; nothing was changed.")

    response = TestClient(app, base_url=ORIGIN).post("/api/contradict")
    assert response.status_code == 409
    assert has_problem_shape(response)


def test_a_session_reads_what_is_stored(demo_engine: Engine):
    app = create_app(demo_engine)

    @app.get("/api/first")
    def get_first(session: Reader) -> str:
        assert isinstance(session, Session)
        return session.exec(select(StoredEngine.engine).order_by(StoredEngine.engine)).first() or ""

    assert TestClient(app, base_url=ORIGIN).get("/api/first").json() == "bittern-270"


def test_empty_database_is_not_healthy():
    engine = open_database(":memory:")
    response = TestClient(create_app(engine), base_url=ORIGIN).get("/healthz")
    assert response.status_code == 503
    assert "counterhand import" in response.json()["detail"]
    engine.dispose()


@pytest.mark.parametrize("path", ["/api/engines", "/api/fit?engine=a&asked=669-18-30", "/"])
def test_database_without_tables_is_explained(path: str):
    engine = open_database(":memory:")
    response = TestClient(create_app(engine), base_url=ORIGIN).get(path, headers={"accept": "text/html"})
    if path == "/":  # the empty form asks nothing of the database
        assert response.status_code == 200
        response = TestClient(create_app(engine), base_url=ORIGIN).get(
            "/?engine=a", headers={"accept": "text/html"}
        )
    assert response.status_code == 503
    assert "counterhand import" in response.text
    assert response.headers["retry-after"].isdigit()
    engine.dispose()


def test_many_questions_at_once_are_all_answered_alike(demo_engine: Engine):
    app = create_app(demo_engine)
    path = "/api/fit?engine=plover-50-s&asked=669-18-30"

    def ask(_: int) -> tuple[int, str | None]:
        response = client.get(path)
        return response.status_code, response.headers.get("etag")

    with TestClient(app, base_url=ORIGIN) as client, ThreadPoolExecutor(12) as pool:
        answers = set(pool.map(ask, range(60)))
    assert len(answers) == 1
    assert answers.pop()[0] == 200


def test_a_body_that_is_not_json_is_called_so(client: TestClient) -> None:
    headers = {"Content-Type": "application/json", "Idempotency-Key": "k"}
    answer = client.post("/api/stock/moves", content=b'{"kind": ', headers=headers)
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")
    assert "The body is not JSON" in answer.json()["detail"]
    assert answer.json()["field"] is None
