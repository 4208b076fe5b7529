"""Counting in a browser: a fast scanner loses nothing, keyboard alone, no complaint under the content policy.

Stock and numbers: stock.csv and parts.csv of the demo catalogue.
"""

from playwright.sync_api import Browser, Page, Route, expect

BELT = "2301273122306"  # Brackenloop LP-669-18-30
OTHER = "2143195136067"  # Quarrox QX99259G


def begin(page: Page) -> None:
    """From the start page to the scan field by keyboard alone."""
    page.goto("/count")
    expect(page.locator("#location")).to_be_focused()
    page.keyboard.type("branch")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#code")).to_be_focused()


def scan(page: Page, *codes: str) -> None:
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


def test_fast_scanner_loses_no_scan_and_the_field_keeps_the_focus(strict_page: Page):
    begin(strict_page)
    scan(strict_page, *[BELT, OTHER] * 15)
    expect(strict_page.locator("#lines-title")).to_contain_text("30 pieces on 2 lines")
    expect(strict_page.locator("#code")).to_be_focused()
    expect(strict_page.locator("#code")).to_have_value("")


def test_scanner_that_ends_with_a_tab_counts_too(strict_page: Page):
    begin(strict_page)
    strict_page.keyboard.type(BELT)
    strict_page.keyboard.press("Tab")
    expect(strict_page.locator("#lines-title")).to_contain_text("1 piece on 1 line,")
    expect(strict_page.locator("#code")).to_be_focused()


def test_keyboard_alone_counts_corrects_and_books(strict_page: Page):
    begin(strict_page)
    scan(strict_page, BELT, "=7", "banana")
    expect(strict_page.locator(".aside-codes")).to_contain_text("banana")
    expect(strict_page.get_by_role("textbox", name="Pieces of Brackenloop LP-669-18-30")).to_have_value("7")
    more = strict_page.get_by_role("button", name="One more of Brackenloop LP-669-18-30")
    more.focus()
    strict_page.keyboard.press("Enter")
    expect(strict_page.get_by_role("textbox", name="Pieces of Brackenloop LP-669-18-30")).to_have_value("8")
    expect(strict_page.locator("#code")).to_be_focused()
    strict_page.get_by_role("link", name="See the differences").focus()
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("h1")).to_have_text("Differences at branch")
    strict_page.get_by_role("button", name="Book this count").focus()
    strict_page.keyboard.press("Enter")
    expect(strict_page.locator("h1")).to_have_text("Count booked: branch")
    expect(strict_page.locator("main")).to_contain_text("banana")
    strict_page.reload()
    expect(strict_page.locator("h1")).to_have_text("Count booked: branch")


def test_scans_are_kept_and_sent_again_when_the_line_is_down(page: Page):
    begin(page)
    is_down = True

    def answer(route: Route) -> None:
        if is_down:
            route.abort()
        else:
            route.continue_()

    page.route("**/scans", answer)
    scan(page, BELT, BELT, OTHER)
    expect(page.locator("#waiting")).to_contain_text("3 not sent yet")
    is_down = False
    expect(page.locator("#lines-title")).to_contain_text("3 pieces on 2 lines", timeout=10_000)
    expect(page.locator("#waiting")).to_be_hidden()


def test_count_works_without_scripts(browser: Browser, base_url: str):
    context = browser.new_context(java_script_enabled=False, base_url=base_url)
    page = context.new_page()
    page.goto("/count")
    page.locator("#location").select_option("branch")
    page.get_by_role("button", name="Begin a count").click()
    for code in (BELT, BELT, "nothing known"):
        page.locator("#code").fill(code)
        page.locator("#code").press("Enter")
    expect(page.locator("#lines-title")).to_contain_text("2 pieces on 1 line,")
    expect(page.locator(".aside-codes")).to_contain_text("nothing known")
    page.get_by_role("textbox", name="Pieces of Brackenloop LP-669-18-30").fill("5")
    page.get_by_role("textbox", name="Pieces of Brackenloop LP-669-18-30").press("Enter")
    expect(page.locator("#lines-title")).to_contain_text("5 pieces on 1 line,")
    context.close()


def test_buttons_are_large_enough_for_a_gloved_finger(page: Page):
    # WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 by 44 CSS pixels.
    page.set_viewport_size({"width": 390, "height": 800})
    begin(page)
    scan(page, BELT, "QR-116")
    expect(page.locator(".aside-codes")).to_be_visible()
    for control in page.locator("#code, main button:visible, main input:visible").all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        assert box["width"] >= 44
