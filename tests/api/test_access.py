"""Keys, sign-ins, refusals: who is let in, and what they see.

What is promised: OWASP Application Security Verification Standard 5.0, chapters on sessions and access
control (new token at sign-in, dead at once after sign-out or revocation, cookie attributes), from memory.
"""

import re
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, text

from api import access
from api.app import create_app
from kb.database import open_reader, open_writer
from kb.edits.access import add_access_key, revoke_access_key
from kb.lookups.access import list_access_keys
from kb.terms import Role

ORIGIN = "http://127.0.0.1"
QUESTION = "/api/fit?engine=plover-50-s&asked=669-18-30"
PAGE = {"accept": "text/html"}


@pytest.fixture(autouse=True)
def look_at_once(monkeypatch):
    """Whether a key is needed is looked up again at each request, so that no test has to wait a second."""
    monkeypatch.setattr(access, "LOOKED_AGAIN_SECONDS", 0.0)


def build_client(engine: Engine, *, origin=ORIGIN, always=False) -> TestClient:
    app = create_app(engine, always_needs_key=always)
    return TestClient(app, base_url=origin, follow_redirects=False)


def give_key(engine: Engine, role: Role = Role.ADMIN, name: str = "boss", days: int | None = None) -> str:
    now = datetime.now(UTC)
    expires = now + timedelta(days=days) if days else None
    with open_writer(engine) as session:
        return add_access_key(session, name, role, now=now, expires_at_utc=expires).key


def revoke(engine: Engine, name: str = "boss") -> None:
    with open_writer(engine) as session:
        revoke_access_key(session, name, now=datetime.now(UTC))


def bearer(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def sign_in(client: TestClient, key: str, **data: str):
    return client.post("/sign-in", data={"key": key, **data})


def test_this_machine_needs_no_key_until_the_first_is_given_out(demo_engine: Engine):
    client = build_client(demo_engine)
    assert client.get(QUESTION).status_code == 200
    key = give_key(demo_engine)
    assert client.get(QUESTION).status_code == 401
    assert client.get(QUESTION, headers=bearer(key)).status_code == 200
    revoke(demo_engine)
    assert client.get(QUESTION).status_code == 200


def test_expired_last_key_opens_nothing_and_keeps_the_door_closed(demo_engine: Engine):
    key = give_key(demo_engine, days=1)
    with open_writer(demo_engine) as session:
        session.execute(text("UPDATE access_key SET expires_at_utc = '2020-01-01 00:00:00.000000'"))
    client = build_client(demo_engine)
    assert client.get(QUESTION, headers=bearer(key)).status_code == 401
    assert client.get(QUESTION).status_code == 401


def test_other_addresses_need_a_key_even_before_the_first_is_given_out(demo_engine: Engine):
    client = build_client(demo_engine, always=True)
    for path in (QUESTION, "/api/openapi.json", "/metrics", "/no/such/address"):
        response = client.get(path)
        assert response.status_code == 401, path
        assert response.headers["www-authenticate"] == "Bearer"
        assert response.json()["type"] == "urn:counterhand:problem:no-key"
    assert client.get("/healthz").status_code == 200
    assert client.get("/static/counterhand.css").status_code == 200


@pytest.mark.parametrize(
    "header",
    ["", "Bearer", "Bearer ", "Bearer zz", "Basic Ym9zczpib3Nz", "bearer \xff", "Bearer " + "0" * 10_000],
)
def test_wrong_keys_open_nothing(demo_engine: Engine, header):
    give_key(demo_engine)
    headers = {"Authorization": header.encode("latin-1")}
    assert build_client(demo_engine).get(QUESTION, headers=headers).status_code == 401


def test_role_that_does_not_reach_is_told_which_would(demo_engine: Engine):
    response = build_client(demo_engine).post(
        "/api/imports", headers=bearer(give_key(demo_engine, Role.READ))
    )
    assert response.status_code == 403
    assert "'admin'" in response.json()["detail"]


def test_revoked_key_is_dead_at_the_next_request(demo_engine: Engine):
    give_key(demo_engine, name="other")
    key = give_key(demo_engine)
    client = build_client(demo_engine)
    assert client.get(QUESTION, headers=bearer(key)).status_code == 200
    revoke(demo_engine)
    assert client.get(QUESTION, headers=bearer(key)).status_code == 401


def test_use_of_a_key_is_written_down(demo_engine: Engine):
    key = give_key(demo_engine)
    build_client(demo_engine).get(QUESTION, headers=bearer(key))
    now = datetime.now(UTC)
    with open_reader(demo_engine) as session:
        used = list_access_keys(session, now=now)[0].last_used_at_utc
    assert used is not None
    assert now - used < timedelta(minutes=1)


def test_prices_are_for_stock_and_above(demo_engine: Engine):
    client = build_client(demo_engine)
    with open_reader(demo_engine) as session:
        maker, number = session.execute(
            text(
                "SELECT m.maker, p.part_number FROM offer o JOIN part p ON p.id = o.part_id "
                "JOIN maker m ON m.id = p.maker_id WHERE o.price_minor > 0 ORDER BY o.id LIMIT 1"
            )
        ).one()
    reader, clerk = give_key(demo_engine, Role.READ, "reader"), give_key(demo_engine, Role.STOCK, "clerk")
    sheet = f"/api/parts/{maker}/{number}"
    assert client.get(sheet, headers=bearer(clerk)).json()["offers"][0]["price_minor"] > 0
    assert client.get(sheet, headers=bearer(reader)).json()["offers"] == []
    others = "/api/engines/plover-50-s/alternatives?position=drive_belt"
    assert re.search(r'"price_minor":\d', client.get(others, headers=bearer(clerk)).text)
    assert not re.search(r'"price_minor":\d', client.get(others, headers=bearer(reader)).text)


def test_the_shelf_tells_readers_no_prices_and_no_terms_of_suppliers(demo_engine: Engine):
    client = build_client(demo_engine)
    reader, clerk = give_key(demo_engine, Role.READ, "reader"), give_key(demo_engine, Role.STOCK, "clerk")
    for path in ("/api/suppliers", "/suppliers", "/receive", "/orders"):
        codes = [client.get(path, headers=bearer(key)).status_code for key in (reader, clerk)]
        assert codes == [403, 200], path
    played = "/api/stock/backtest?as_of=2026-11-20"
    worth = [client.get(played, headers=bearer(key)).json()["rules"][0] for key in (reader, clerk)]
    assert worth[0]["mean_value_held_minor"] is None
    assert worth[1]["mean_value_held_minor"] > 0
    for path in ("/stock", "/stock/low?as_of=2026-11-20", "/stock/backtest?play=true"):
        seen, all_of_it = (client.get(path, headers=bearer(key)).text for key in (reader, clerk))
        assert " EUR" in all_of_it, path
        assert " EUR" not in seen, path
        assert "pinemoor" not in seen, path


def test_person_is_sent_to_sign_in_and_back(demo_engine: Engine):
    key = give_key(demo_engine, Role.READ)
    client = build_client(demo_engine)
    sent = client.get("/engines?after=a%26b", headers=PAGE)
    assert sent.status_code == 303
    form = client.get(sent.headers["location"], headers=PAGE)
    assert form.status_code == 200
    assert 'value="/engines?after=a%26b"' in form.text
    done = sign_in(client, key, next="/engines?after=a%26b")
    assert (done.status_code, done.headers["location"]) == (303, "/engines?after=a%26b")
    assert client.get("/engines", headers=PAGE).status_code == 200
    assert "signed in as boss, with the role read" in client.get("/sign-in", headers=PAGE).text


@pytest.mark.parametrize(
    "address",
    ["//evil.test/", "https://evil.test/", "/\\evil.test", "evil", "", "/a\r\nSet-Cookie: x=1", "/ä"],
)
def test_sign_in_goes_on_to_own_addresses_only(demo_engine: Engine, address):
    key = give_key(demo_engine)
    assert sign_in(build_client(demo_engine), key, next=address).headers["location"] == "/"


def test_cookie_is_not_the_key_and_is_kept_from_scripts_and_other_sites(demo_engine: Engine):
    key = give_key(demo_engine)
    cookie = sign_in(build_client(demo_engine), key).headers["set-cookie"]
    assert key not in cookie
    assert re.match(r"counterhand=[0-9a-f]{40};", cookie)
    assert {"httponly", "samesite=strict", "path=/"} <= set(cookie.lower().split("; "))
    assert "secure" not in cookie.lower()


def test_cookie_is_secure_and_bound_to_the_host_under_tls(demo_engine: Engine):
    key = give_key(demo_engine)
    client = build_client(demo_engine, origin="https://127.0.0.1")
    cookie = sign_in(client, key).headers["set-cookie"]
    assert cookie.startswith("__Host-counterhand=")
    assert {"secure", "path=/"} <= set(cookie.lower().split("; "))
    assert "domain" not in cookie.lower()
    assert client.get(QUESTION).status_code == 200


def test_each_sign_in_has_a_new_cookie_and_ends_the_one_before(demo_engine: Engine):
    key = give_key(demo_engine)
    client = build_client(demo_engine)
    sign_in(client, key)
    old = dict(client.cookies)
    sign_in(client, key)
    assert dict(client.cookies) != old
    stale = build_client(demo_engine)
    stale.cookies.update(old)
    assert stale.get(QUESTION).status_code == 401


@pytest.mark.parametrize("ending", ["sign out", "revoke"])
def test_sign_in_is_dead_at_once(demo_engine: Engine, ending):
    give_key(demo_engine, name="other")
    key = give_key(demo_engine)
    client = build_client(demo_engine)
    sign_in(client, key)
    kept = dict(client.cookies)
    if ending == "revoke":
        revoke(demo_engine)
    else:
        assert client.post("/sign-out").headers["location"] == "/sign-in"
        assert not client.cookies
    client.cookies.update(kept)
    assert client.get(QUESTION).status_code == 401


def test_wrong_key_is_not_signed_in(demo_engine: Engine):
    give_key(demo_engine)
    response = sign_in(build_client(demo_engine), "0" * 40)
    assert response.status_code == 403
    assert "set-cookie" not in response.headers
    assert "opens nothing" in response.text
    assert "0" * 40 not in response.text


def test_fifth_wrong_key_from_an_address_has_to_wait(demo_engine: Engine):
    key = give_key(demo_engine)
    app = create_app(demo_engine)
    here = TestClient(app, base_url=ORIGIN, client=("192.0.2.1", 1))
    there = TestClient(app, base_url=ORIGIN, client=("192.0.2.2", 1))
    for _ in range(5):
        assert here.get(QUESTION, headers=bearer("0" * 40)).status_code == 401
    refused = here.get(QUESTION, headers=bearer("0" * 40))
    assert refused.status_code == 429
    assert int(refused.headers["retry-after"]) >= 1
    assert here.post("/sign-in", data={"key": key}).status_code == 429
    assert there.get(QUESTION, headers=bearer(key)).status_code == 200


def test_no_secret_shows_in_answers_or_log(demo_engine: Engine, caplog):
    caplog.set_level("DEBUG")
    key = give_key(demo_engine, Role.READ)
    client = build_client(demo_engine)
    sign_in(client, key)
    cookie = client.cookies["counterhand"]
    shown = [
        client.post("/api/imports").text,
        client.get("/sign-in").text,
        client.get("/zz").text,
        caplog.text,
    ]
    assert not [text for text in shown if key in text or cookie in text]


def test_database_that_does_not_answer_lets_nobody_in(tmp_path):
    from kb.database import open_database

    (tmp_path / "letter.db").write_text("Dear customer " * 100)
    engine = open_database(str(tmp_path / "letter.db"))
    for always in (True, False):
        response = build_client(engine, always=always).get(QUESTION, headers=bearer("0" * 40))
        assert response.status_code == 503
    engine.dispose()
