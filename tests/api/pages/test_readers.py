"""A key that may only read sees no form that it may not send, but who can; what it sends anyway is refused.

That looking up is for all and booking for the role ``stock`` is a judgement of this project (see ``roles``).
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.roles import find_needed_role
from kb.database import open_database, open_writer
from kb.edits.access import add_access_key
from kb.terms import Role

TEMPLATES = Path(__file__).parents[3] / "api" / "templates"
PAGE = {"accept": "text/html"}
BELT = "/stock/Brackenloop/LP-669-18-30"
NAMES = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}
JOB = "belt_service"
CARD = f"/card?engine=plover-50-s&job={JOB}"
SUPPLIERS = ("alderton", "harrenbeck", "kestrow", "lowmill", "pinemoor")
# Every page, and the addresses of the forms on it that change something, as whoever may do all sees them.
FORMS = {
    "/": set(),
    "/find": set(),
    "/find/results?q=belt": set(),
    "/engines": set(),
    "/engines/plover-50-s": set(),
    "/engines/pick?q=plover": set(),
    "/parts/Brackenloop/LP-669-18-30": set(),
    "/read": set(),
    "/words": {"/words", "/words/remove"},
    "/bench": set(),
    CARD: {"/jobs"},
    "/gauge": set(),
    "/rollers": set(),
    "/tell-apart": set(),
    "/trace": set(),
    "/readings": {"/readings"},
    "/readings/ABC%201": {"/readings"},
    "/stock": set(),
    "/stock/low": set(),
    "/stock/levels": {"/stock/levels"},
    "/stock/backtest": set(),
    BELT: {BELT, "/stock/levels", "/stock/left-out", "/stock/counts-again"},
    "/orders": {"/orders"},
    "/orders/{order}": {"/orders/{order}"},
    "/receive": {"/receive"},
    "/receive/{delivery}": {
        f"/receive/{{delivery}}/{word}" for word in ("scans", "lines", "set-aside", "post", "discard")
    },
    "/suppliers": {
        f"/suppliers/{name}" for name in ("alderton", "harrenbeck", "kestrow", "lowmill", "pinemoor")
    },
    "/jobs": {"/jobs", "/jobs/1"},
    "/labels": set(),
    "/count": {"/count"},
    "/count/{count}": {f"/count/{{count}}/{word}" for word in ("scans", "lines", "set-aside", "discard")},
    "/count/{count}/review": {"/count/{count}/post"},
    "/imports": {"/imports"},
    "/imports/new/{upload}": {"/imports/new/{upload}", "/imports/new/{upload}/discard"},
    "/sign-in": {"/sign-in"},
}


NO_PAGES = ("/api", "/healthz", "/metrics", "/static")
# What is no page, and pages that hang on a run of an import: their forms are looked at in the templates.
ELSEWHERE = {
    "/find/pick",
    "/imports/{batch}",
    *(f"/imports/new/{{token}}/{word}" for word in ("working", "preview", "refused.csv")),
}


class Shop:
    """A shop at work, and those who look at it with their keys."""

    def __init__(self, client: TestClient, keys: dict[Role, str]) -> None:
        self._client = client
        self.app = client.app
        self._keys = keys
        self.names: dict[str, str] = {}

    def look(self, role: Role, path: str):
        """The answer to whoever has the role."""
        return self._client.get(self.fill(path), headers=self._show(role))

    def send(self, role: Role, path: str, **sent):
        """The answer to a form that is sent to the address."""
        return self._client.post(self.fill(path), headers=self._show(role), **sent)

    def begin(self, name: str, path: str, **sent) -> None:
        """Send a form, and remember the name of what it opened."""
        answer = self.send(Role.ADMIN, path, **sent)
        assert answer.status_code == 303, answer.text
        self.names[name] = answer.headers["location"].rpartition("/")[2]

    def fill(self, path: str) -> str:
        """An address with the names that the shop gave out."""
        return path.format(**self.names)

    def _show(self, role: Role) -> dict[str, str]:
        return PAGE | {"Authorization": f"Bearer {self._keys[role]}"}


def fill_shop(shop: Shop) -> None:
    """Something under way behind every page whose forms hang on it."""
    shop.begin("count", "/count", data={"location": "counter"})
    shop.begin("delivery", "/receive", data={"location": "counter"})
    for place in ("/count/{count}", "/receive/{delivery}"):
        for code in ("LP-669-18-30", "banana"):
            shop.send(Role.ADMIN, f"{place}/scans", data={"code": code})
    shop.begin("upload", "/imports", files={"file": ("list.csv", b"maker,part number\nBrackenloop,X-1\n")})
    proposal = {"key": "o-1", "supplier": "kestrow", "location": "branch", "shelf": "branch"}
    shop.begin("order", "/orders", data=proposal)
    decision = NAMES | {"location": "counter", "why": "a fleet"}
    machine = {"machine": "ABC 1", "engine": "plover-50-s"}
    reading = machine | {"position": "drive_belt", "quantity": "top_width"}
    for path, form in (
        ("/stock/levels", decision | {"key": "l-1", "level": "40"}),
        ("/stock/left-out", decision | {"key": "d-1", "day": "2026-10-12", "quantity": "1"}),
        (
            "/jobs",
            {"key": "j-1", "machine": "ABC 1", "location": "counter", "engine": "plover-50-s", "job": JOB},
        ),
        ("/words", {"word": "rubber ring", "part_type": "drive_belt"}),
        ("/readings", reading | {"value": "17.9", "odometer": "9000"}),
    ):
        answer = shop.send(Role.ADMIN, path, data=form)
        assert answer.status_code == 303, answer.text


@pytest.fixture(scope="module")
def shop(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    copy = tmp_path_factory.mktemp("readers") / "demo.db"
    copy.write_bytes(demo_file.read_bytes())
    engine = open_database(f"sqlite:///{copy}")
    now = datetime.now(UTC)
    with open_writer(engine) as session:
        keys = {role: add_access_key(session, role, role, now=now).key for role in Role}
    app = create_app(engine, always_needs_key=True)
    app.state.import_runner.runs_apart = False
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as client:
        shop = Shop(client, keys)
        fill_shop(shop)
        yield shop
    engine.dispose()


def list_forms(page: str) -> set[str]:
    """Addresses of the forms of a page that are posted."""
    forms = re.findall(r"<form[^>]*>", page)
    return {re.findall(r'action="([^"]*)"', form)[0] for form in forms if 'method="post"' in form}


@pytest.mark.parametrize("path", FORMS)
def test_whoever_may_all_sees_every_form_and_a_reader_none(shop: Shop, path: str):
    whole = shop.look(Role.ADMIN, path)
    assert whole.status_code == 200
    forms = {shop.fill(form) for form in FORMS[path]}
    assert list_forms(whole.text) == forms
    assert "Your key" not in whole.text
    seen = shop.look(Role.READ, path)
    if find_needed_role("GET", shop.fill(path)) not in (None, Role.READ):
        assert seen.status_code == 403
        return
    open_to_all = {form for form in forms if find_needed_role("POST", form) is None}
    assert (seen.status_code, list_forms(seen.text)) == (200, open_to_all)
    told = "a key of the role “stock” is needed" in seen.text
    assert told == ("Your key may only read" in seen.text) == bool(forms - open_to_all)


@pytest.mark.parametrize("form", sorted(set.union(*FORMS.values()) - {"/sign-in"}))
def test_what_a_reader_sends_all_the_same_is_refused(shop: Shop, form: str):
    answer = shop.send(Role.READ, form)
    assert answer.status_code == 403
    assert "'read' has the role 'read'" in answer.text.replace("&#39;", "'")


@pytest.mark.parametrize("path", [path for path in FORMS if not path.startswith("/imports")])
def test_whoever_keeps_the_stock_sees_all_forms_but_those_of_imports(shop: Shop, path: str):
    assert list_forms(shop.look(Role.STOCK, path).text) == {shop.fill(form) for form in FORMS[path]}


def test_every_page_is_listed_here(shop: Shop, list_routes):
    """An address of the list stands for the page whose address it fills in."""
    routes = {path for method, path in list_routes(shop.app) if method == "GET"} - ELSEWHERE
    pages = {path for path in routes if not path.startswith(NO_PAGES)}
    patterns = {page: re.compile(re.sub(r"{[^}]*}", "[^/]+", page)) for page in pages}
    listed = {path.partition("?")[0] for path in FORMS}
    assert len(pages) > 30
    assert {page for page, known in patterns.items() if not any(map(known.fullmatch, listed))} == set()


def test_every_form_of_the_templates_asks_whether_it_may_be_sent():
    """Also those that no page above shows, such as the preview of an import."""
    written = {path.name for path in TEMPLATES.glob("*.html") if 'method="post"' in path.read_text()}
    assert written == {"posting.html"}
