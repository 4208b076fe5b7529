"""The counter page in a browser: verdicts, keyboard, no complaint under the content policy."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

NEAR = "/?engine=plover-50-s&asked=Tollwyne+TW+669.2"
PAGES = [
    "/",
    "/?engine=plover-50-s&asked=669-18-30",
    NEAR,
    "/?engine=plover-50-s&asked=743-20-30",
    "/?engine=curlew-250-b&asked=1000-24-28",
    "/?engine=plover-50-s&asked=banana",
    "/?engine=plover-50-s&asked=Pimperlock+PL64076",
    "/?engine=plover&asked=669-18-30",
    "/engines",
    "/engines/plover-50-s",
    "/parts/Fernquill/FQ/45387/E",
    "/no/such/page",
]


@pytest.fixture
def meant() -> re.Pattern[str]:
    """A document that is answered with 404 or 422 is reported by the browser itself."""
    return re.compile(r"Failed to load resource: the server responded with a status of (404|422)")


@pytest.mark.parametrize("path", PAGES)
def test_pages_load_without_a_complaint(strict_page: Page, path: str):
    strict_page.goto(path)
    expect(strict_page.locator("h1").first).to_be_attached()


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ("669-18-30", "✓ fits"),
        ("Tollwyne TW 669.2", "≈ fits, with a change"),
        ("743-20-30", "✗ does not fit"),
    ],
)
def test_verdict_of_an_exact_a_near_and_a_wrong_belt(strict_page: Page, asked: str, word: str):
    strict_page.goto("/?engine=plover-50-s")
    expect(strict_page.locator("#asked")).to_be_focused()
    strict_page.keyboard.type(asked)
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("#verdict-title")).to_have_text(word)
    expect(strict_page.locator(".drawings svg")).to_have_count(6)


def test_unreadable_belt_says_what_to_write(strict_page: Page):
    strict_page.goto("/?engine=plover-50-s&position=drive_belt")
    expect(strict_page.locator("#asked")).to_be_focused()
    strict_page.keyboard.type("669-18-")
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator(".message")).to_contain_text("separator without a number")
    expect(strict_page.locator(".message")).to_contain_text("669-18-30")


def test_keyboard_alone_picks_an_engine_and_asks(strict_page: Page):
    strict_page.goto("/")
    expect(strict_page.locator("#engine")).to_be_focused()
    strict_page.keyboard.type("campionet 50")
    expect(strict_page.locator("#engine-options [role=option]")).to_have_count(1)
    expect(strict_page.locator("#engine-options")).to_be_visible()
    strict_page.keyboard.press("ArrowDown")
    expect(strict_page.locator("#engine")).to_have_attribute("aria-activedescendant", "engine-option-1")
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("#engine")).to_have_value("plover-50-w")
    expect(strict_page.locator("#asked")).to_be_focused()
    strict_page.keyboard.type("669-18-30")
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("#verdict-title")).to_have_text("✓ fits")


def test_escape_closes_the_list_and_keeps_what_was_typed(strict_page: Page):
    strict_page.goto("/")
    expect(strict_page.locator("#engine")).to_be_focused()
    strict_page.keyboard.type("plover")
    expect(strict_page.locator("#engine-options")).to_be_visible()
    strict_page.keyboard.press("Escape")
    expect(strict_page.locator("#engine-options")).to_be_hidden()
    expect(strict_page.locator("#engine")).to_have_value("plover")


def test_next_scan_replaces_the_last(strict_page: Page):
    strict_page.goto("/?engine=plover-50-s&asked=743-20-30")
    expect(strict_page.locator("#asked")).to_be_focused()
    strict_page.keyboard.type("669-18-30")
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("#verdict-title")).to_have_text("✓ fits")
    expect(strict_page).to_have_url(
        re.compile(r"/\?engine=plover-50-s&asked=669-18-30&position=$|asked=669-18-30$")
    )


def test_fields_of_a_size_ask_about_that_size(strict_page: Page):
    strict_page.goto("/?engine=plover-50-s")
    strict_page.get_by_text("No number on it?").click()
    strict_page.get_by_label("Length mm", exact=True).fill("669")
    strict_page.get_by_label("Top width mm").fill("18")
    strict_page.get_by_label("Angle °").fill("30")
    strict_page.get_by_role("button", name="Check the belt").click()
    expect(strict_page.locator("#verdict-title")).to_have_text("✓ fits")


def test_page_works_without_scripts(browser: Browser, base_url: str):
    context = browser.new_context(java_script_enabled=False, base_url=base_url)
    page = context.new_page()
    page.goto("/")
    page.locator("#engine").fill("plover-50-s")
    page.locator("#asked").fill("669-18-30")
    page.locator("#asked").press("Enter")
    expect(page.locator("#verdict-title")).to_have_text("✓ fits")
    page.goto("/?engine=campionet&asked=669-18-30")
    page.get_by_role("link", name="plover-50-w").click()
    expect(page.locator("#verdict-title")).to_have_text("✓ fits")
    context.close()


def test_buttons_and_fields_are_large_enough_for_a_gloved_finger(page: Page):
    # WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 by 44 CSS pixels.
    page.goto(NEAR)
    for control in page.locator("#engine, #asked, #position, button.main, summary").all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        assert box["width"] >= 44


def test_cautions_can_be_reached_without_opening_anything(page: Page):
    page.goto("/?engine=plover-50-s&asked=Pimperlock+PL64076")
    caution = page.get_by_role("note", name="WARNING").first
    expect(caution).to_be_visible()
    assert page.locator("details .caution").count() == 0


def test_print_shows_the_answer_without_the_controls(page: Page):
    page.goto(NEAR)
    page.emulate_media(media="print")
    expect(page.locator("#verdict-title")).to_be_visible()
    for nav in page.locator("nav").all():
        expect(nav).to_be_hidden()
    expect(page.locator("button.main")).to_be_hidden()
    assert page.pdf(format="A4").startswith(b"%PDF")
