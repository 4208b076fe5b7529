"""Importing in a browser: a file is chosen or dropped, mapped, looked at, loaded and taken back by keyboard.

Numbers: stock.csv and parts.csv of the demo catalogue.
"""

import re

from playwright.sync_api import Browser, Page, expect

PRICES = b"""Art.-Nr.;Hersteller;Preis EUR;Lagerplatz
LP-669-18-30;Brackenloop;12,50;A1
QX99259G;Quarrox;zwoelf;B2
"""
PARTS = b"""maker,part number,description
Brackenloop,LP 669 18 30,drive belt 669x18
Brackenloop,LP-700-18,drive belt 700 x 18
"""
DROP = """([field, name, text]) => {
  const data = new DataTransfer();
  data.items.add(new File([text], name, {type: "text/csv"}));
  field.files = data.files;
}"""


# Files are read by a process of their own, which takes its time where much else is going on.
expect.set_options(timeout=30_000)


def choose(page: Page, name: str, content: bytes) -> None:
    page.goto("/imports")
    page.locator("#file").set_input_files({"name": name, "mimeType": "text/csv", "buffer": content})
    page.get_by_role("button", name="Look at the file").focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text(name)


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name).focus()
    page.keyboard.press("Enter")


def test_keyboard_alone_maps_looks_loads_and_takes_back(strict_page: Page):
    choose(strict_page, "alder.csv", PRICES)
    expect(strict_page.get_by_label("Kind of list")).to_have_value("offers")
    expect(strict_page.locator(".columns-map li").nth(2)).to_contain_text("12,50")
    strict_page.get_by_label("Lagerplatz").select_option("")
    strict_page.locator("#value-supplier").focus()
    strict_page.keyboard.type("alderton")
    press(strict_page, "See what would happen")
    expect(strict_page.locator(".counts")).to_contain_text("1 refused")
    expect(strict_page.locator("main")).to_contain_text("'zwoelf' is not a number")
    with strict_page.expect_download() as download:
        strict_page.get_by_role("link", name="Refused rows as CSV").focus()
        strict_page.keyboard.press("Enter")
    assert download.value.suggested_filename == "refused-rows.csv"
    strict_page.get_by_label("keep the good rows").focus()
    strict_page.keyboard.press("Space")
    press(strict_page, "Load the file")
    expect(strict_page.locator("h1")).to_contain_text("Import 20")
    expect(strict_page.locator(".counts")).to_contain_text("1 added")
    press(strict_page, "Take this import back")
    expect(strict_page.locator("main")).to_contain_text("Taken back")


def test_without_asking_for_the_good_rows_the_form_does_not_leave(strict_page: Page):
    choose(strict_page, "alder.csv", PRICES)
    strict_page.get_by_label("Lagerplatz").select_option("")
    strict_page.locator("#value-supplier").fill("alderton")
    press(strict_page, "See what would happen")
    press(strict_page, "Load the file")
    expect(strict_page).to_have_url(re.compile("/preview$"))


def test_file_may_be_dropped_on_the_field(strict_page: Page):
    strict_page.goto("/imports")
    box = strict_page.locator("#file").bounding_box()
    assert box is not None
    assert box["height"] >= 100
    # Browsers put what is dropped on a file field into its files; the drop itself cannot be played here.
    strict_page.locator("#file").evaluate(
        "(field, [name, text]) => (" + DROP + ")([field, name, text])", ["dropped.csv", PARTS.decode()]
    )
    press(strict_page, "Look at the file")
    expect(strict_page.locator("h1")).to_have_text("dropped.csv")


def test_long_reading_shows_how_far_it_is_and_is_stopped_by_keyboard(strict_page: Page):
    rows = (f"Wren-Test,N-{number},drive_belt,belt 743x20x30\n" for number in range(60_000))
    content = "maker,part_number,part_type,description\n" + "".join(rows)
    choose(strict_page, "long.csv", content.encode())
    press(strict_page, "See what would happen")
    expect(strict_page.locator(".pace")).to_contain_text("rows")
    expect(strict_page.get_by_role("progressbar")).to_be_visible()
    press(strict_page, "Stop reading")
    expect(strict_page.get_by_role("alert")).to_contain_text("It was stopped; nothing was written.")


def test_file_that_is_too_large_is_not_sent(strict_page: Page):
    strict_page.goto("/imports")
    strict_page.locator("#upload").evaluate("form => { form.dataset.mostBytes = 10; }")
    strict_page.locator("#file").set_input_files({"name": "a.csv", "mimeType": "text/csv", "buffer": PARTS})
    press(strict_page, "Look at the file")
    expect(strict_page.locator("#send-told")).to_contain_text("Split it, or load it on the command line.")
    expect(strict_page).to_have_url(re.compile("/imports$"))


def test_import_works_without_scripts(browser: Browser, base_url: str):
    context = browser.new_context(java_script_enabled=False, base_url=base_url)
    page = context.new_page()
    choose(page, "new.csv", PARTS)
    page.get_by_role("button", name="See what would happen").click()
    page.get_by_role("radio", name="the same part").check()
    page.get_by_role("button", name="Take these decisions").click()
    expect(page.locator(".counts")).to_contain_text("0 refused")
    context.close()
