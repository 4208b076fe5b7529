"""Shelf pages in a browser: a delivery by scanner and keyboard, decisions by keyboard, accessibility rules.

Stock and numbers: stock.csv, parts.csv and demand.csv of the demo catalogue.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

AXE = Path(__file__).with_name("axe.min.js")
RULES = "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
BELT = "2301273122306"  # Brackenloop LP-669-18-30
OTHER = "2143195136067"  # Quarrox QX99259G
PART = "/stock/Brackenloop/LP-669-18-30?shelf=counter"
SHELF_PAGES = (  # the first three hold what is drawn otherwise on a wide page
    "/stock?q=lp-6",
    "/stock/low?location=branch&group=chase",
    PART,
    "/stock/levels",
    "/stock/Quarrox/QX99259G?shelf=counter",
    "/stock/backtest?play=true",
    "/orders?location=branch",
    "/suppliers",
    "/receive",
    "/jobs",
    "/labels?part=Brackenloop%20LP-669-18-30",
)


@pytest.fixture
def strict_page(page: Page) -> Iterator[Page]:
    """A page that fails the test on any error or warning in its console."""
    complaints: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            complaints.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    assert complaints == []


def scan(page: Page, *codes: str) -> None:
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


def begin(page: Page) -> None:
    """From the start page to the scan field by keyboard alone."""
    page.goto("/receive")
    expect(page.locator("#order")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.type("branch")
    page.keyboard.press("Tab")
    page.keyboard.type("slip 9")
    page.keyboard.press("Enter")
    expect(page.locator("#code")).to_be_focused()


def test_a_delivery_is_scanned_and_booked_by_keyboard_alone(strict_page: Page):
    begin(strict_page)
    scan(strict_page, *[BELT, OTHER] * 6, "=4", "banana")
    expect(strict_page.locator("#lines-title")).to_contain_text("10 pieces, 2 parts")
    expect(strict_page.locator(".aside-codes")).to_contain_text("banana")
    strict_page.get_by_role("button", name="Book 10 pieces as received").focus()
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("h1")).to_have_text("Received at branch")
    expect(strict_page.locator("main")).to_contain_text("slip 9")
    expect(strict_page.locator("main")).to_contain_text("banana")


def test_a_sale_is_left_out_of_the_forecast_by_keyboard_and_counted_again(strict_page: Page):
    strict_page.goto(PART)
    strict_page.get_by_text("days of demand").press("Enter")
    strict_page.locator("summary[aria-label^='Leave out of the forecast: 2026-10-18']").press("Enter")
    opened = strict_page.locator(".demand-days details[open]")
    opened.get_by_label("Leave out of the forecast, because").fill("for a club")
    opened.get_by_label("Your name").fill("ann")
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator(".decided")).to_contain_text("1 of 2026-10-18 at counter: for a club ann")
    strict_page.get_by_role("button", name="Count again: 1 of 2026-10-18").press("Enter")
    expect(strict_page.locator("#demand")).to_be_visible()
    expect(strict_page.get_by_text("for a club")).to_have_count(0)


def fill_shelf(page: Page, key: str) -> str:
    """A level by hand, a job and an order, so that the pages have something to show; the order's address."""
    part = {"maker": "Quarrox", "part_number": "QX99259G"}
    level = part | {"location": "counter", "level": 4, "why": "a fleet", "made_by": "ann"}
    job = {"machine": "AB 12", "location": "counter", "lines": [part | {"quantity": 2}]}
    order = {"supplier": "kestrow", "location": "counter", "lines": [part | {"quantity": 5}]}
    for path, body in (("stock/levels", level), ("jobs", job), ("orders", order)):
        answer = page.request.post(f"/api/{path}", data=body, headers={"Idempotency-Key": f"{path}-{key}"})
        assert answer.status == 201, answer.text()
    return f"/orders/{answer.json()['order']}"


@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 360)])
def test_no_accessibility_rule_is_broken_and_nothing_is_too_wide(
    browser: Browser, base_url: str, scheme: str, width: int
):
    context = browser.new_context(
        bypass_csp=True, base_url=base_url, color_scheme=scheme, viewport={"width": width, "height": 800}
    )
    page = context.new_page()
    begin(page)
    order = fill_shelf(page, scheme)
    scan(page, BELT, "QR-116", "banana")
    expect(page.locator("#lines-title")).to_contain_text("1 piece, 1 part")
    said = {}
    for path in (page.url, order, *(SHELF_PAGES if width < 500 else SHELF_PAGES[:3])):
        page.goto(path)
        page.evaluate(
            "[...document.querySelectorAll('details')].slice(0, 6).forEach(item => { item.open = true; })"
        )
        page.add_script_tag(path=AXE)
        for item in page.evaluate(RULES)["violations"]:
            place = re.sub(r"/receive/[\w-]{22}", "/receive/…", path)
            said[(place, item["id"])] = [n["html"][:120] for n in item["nodes"]][:3]
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
    context.close()
    assert said == {}
