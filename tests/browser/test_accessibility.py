"""Every page at a desk and on a phone, in light and dark: no rule of WCAG 2.2 AA is broken, none is too wide.

The rules are those of axe-core, which is kept beside this file. Numbers: the demo catalogue.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import APIRequestContext, Browser, Page, Playwright

AXE = Path(__file__).with_name("axe.min.js")
RULES = "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
OPEN_DETAILS = "[...document.querySelectorAll('details')].slice(0, 6).forEach(item => { item.open = true; })"
CONTRAST = "axe.run({runOnly: {type: 'rule', values: ['color-contrast', 'link-in-text-block']}})"
# All rules in both widths and both schemes; in the other two pairs those rules that hang on the colours.
LOOKS = (("light", 1280, RULES), ("dark", 1280, CONTRAST), ("dark", 360, RULES), ("light", 360, CONTRAST))
WIDTHS = (1280, 768, 390, 360)
PART = {"maker": "Quarrox", "part_number": "QX99259G"}
ROWS = b"""maker,part number,description
Brackenloop,LP 669 18 30,drive belt 669x18
Brackenloop,LP-700-18,drive belt 700 x 18
"""
COUNT = b"location,maker,part_number,on_hand,counted_on\ncounter,Quarrox,QX99259G,7,2026-11-25\n"
PAGES = (
    "/",
    "/?engine=plover-50-s&asked=669-18-30",
    "/?engine=plover-50-s&asked=Tollwyne+TW+669.2",
    "/?engine=plover-50-s&asked=743-20-30",
    "/?engine=curlew-250-b&asked=1000-24-28",
    "/?engine=plover-50-s&asked=banana",
    "/?engine=plover-50-s&asked=Pimperlock+PL64076",
    "/?engine=plover&asked=669-18-30",
    "/find?q=vario+belt+670+18+30",
    "/engines",
    "/engines/plover-50-s",
    "/parts/Fernquill/FQ/45387/E",
    "/read?text=669-18-30",
    "/words",
    "/bench",
    "/card?engine=plover-50-s&job=belt_service",
    "/gauge?engine=plover-50-s&position=drive_belt&quantity=top_width&value=16.9",
    "/rollers?engine=plover-50-s&masses=6.5+6.5+6.4+6.5+6.6+6.2",
    "/tell-apart?engine=plover-50-s&engine=plover-50-l",
    "/trace",
    "/trace?text=slow+uphill",
    "/readings",
    "/readings/AB%2012",
    "/stock?q=lp-6",
    "/stock/low?location=branch&group=chase",
    "/stock/levels",
    "/stock/Brackenloop/LP-669-18-30?shelf=counter",
    "/stock/Quarrox/QX99259G?shelf=counter",
    "/stock/backtest?play=true",
    "/orders?location=branch",
    "{order}",
    "/suppliers",
    "/receive",
    "{delivery}",
    "/jobs",
    "/labels?part=Brackenloop%20LP-669-18-30",
    "/count",
    "{count}",
    "{count}/review",
    "/imports",
    "{batch}",
    "{upload}",
    "{upload}/preview",
    "/sign-in",
    "/no/such/page",
)


def send(request: APIRequestContext, path: str, **said) -> str:
    """Send a form; the address that it leads to."""
    answer = request.post(path, headers={"accept": "text/html"}, max_redirects=0, **said)
    assert answer.status == 303, answer.text()
    return answer.headers["location"]


def fill_shop(request: APIRequestContext) -> dict[str, str]:
    """Something under way behind every page; the addresses of what was begun."""
    begun = {}
    for name, path in (("count", "/count"), ("delivery", "/receive")):
        begun[name] = send(request, path, form={"location": "branch"})
        for code in ("2301273122306", "QR-116", "banana"):
            request.post(f"{begun[name]}/scans", form={"code": code})
    level = PART | {"location": "counter", "level": 4, "why": "a fleet", "made_by": "ann"}
    job = {"machine": "AB 12", "location": "counter", "lines": [PART | {"quantity": 2}]}
    order = {"supplier": "kestrow", "location": "counter", "lines": [PART | {"quantity": 5}]}
    for path, body in (("stock/levels", level), ("jobs", job), ("orders", order)):
        answer = request.post(f"/api/{path}", data=body, headers={"Idempotency-Key": f"axe-{path}"})
        assert answer.status == 201, answer.text()
    begun["order"] = f"/orders/{answer.json()['order']}"
    for value, odometer in (("17.9", "3000"), ("17.4", "6000"), ("17.1", "9000")):
        reading = {"position": "drive_belt", "quantity": "top_width", "value": value, "odometer": odometer}
        send(request, "/readings", form=reading | {"machine": "AB 12", "engine": "plover-50-s"})
    sheet = {"name": "count.csv", "mimeType": "text/csv", "buffer": COUNT}
    loaded = request.post("/api/imports", multipart={"file": sheet}, headers={"Idempotency-Key": "axe-sheet"})
    assert loaded.status == 201, loaded.text()
    begun["batch"] = f"/imports/{loaded.json()['batch']}"
    rows = {"name": "new.csv", "mimeType": "text/csv", "buffer": ROWS}
    begun["upload"] = send(request, "/imports", multipart={"file": rows})
    return begun


@pytest.fixture(scope="module")
def begun(playwright: Playwright, base_url: str) -> Iterator[dict[str, str]]:
    request = playwright.request.new_context(base_url=base_url)
    yield fill_shop(request)
    request.dispose()


@pytest.fixture(scope="module")
def tab(browser: Browser, base_url: str) -> Iterator[Page]:
    """One tab for all pages; the page's own content policy would keep the rules out."""
    context = browser.new_context(bypass_csp=True, base_url=base_url)
    yield context.new_page()
    context.close()


def list_broken(tab: Page, rules: str) -> set[tuple[str, str]]:
    """Rules that the page breaks as it looks now, and where."""
    found = tab.evaluate(rules)["violations"]
    return {(item["id"], node["html"][:120]) for item in found for node in item["nodes"][:3]}


@pytest.mark.parametrize("path", PAGES)
def test_no_accessibility_rule_is_broken_and_nothing_is_too_wide(tab: Page, begun: dict[str, str], path: str):
    tab.set_viewport_size({"width": 1280, "height": 800})
    tab.goto(path.format(**begun))
    if path == "{upload}/preview":
        tab.goto(begun["upload"])
        tab.get_by_role("button", name="See what would happen").click()
        tab.locator(".counts").wait_for()
    tab.evaluate(OPEN_DETAILS)
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": 800})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
    tab.add_script_tag(path=AXE)
    broken = {}
    for scheme, width, rules in LOOKS:
        tab.emulate_media(color_scheme=scheme)
        tab.set_viewport_size({"width": width, "height": 800})
        if found := list_broken(tab, rules):
            broken[scheme, width] = found
    assert broken == {}
