"""Shelf pages in a browser: a delivery by scanner and keyboard, decisions by keyboard.

Stock and numbers: stock.csv, parts.csv and demand.csv of the demo catalogue.
"""

from playwright.sync_api import Page, expect

BELT = "2301273122306"  # Brackenloop LP-669-18-30
OTHER = "2143195136067"  # Quarrox QX99259G
PART = "/stock/Brackenloop/LP-669-18-30?shelf=counter"


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
