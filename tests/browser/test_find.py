"""Finding with the keyboard alone: ten kinds of questions on the counter page, and the find page."""

import pytest
from playwright.sync_api import Page, expect

QUESTIONS = [
    ("number", "LP-669-18-30", "Brackenloop LP-669-18-30"),
    ("number without its marks", "lp6691830", "Brackenloop LP-669-18-30"),
    ("number with look-alikes", "TW 2OO9.8", "Tollwyne TW 2009.8"),
    ("beginning of a number", "LP-669-18", "Brackenloop LP-669-18-30"),
    ("scan", "2301273122306", "Brackenloop LP-669-18-30"),
    ("size and kind", "belt 669 18 30 aramid", "Brackenloop LP-669-18-30"),
    ("other order and commas", "rollers 6,5g 16x13 pimperlock", "Pimperlock PL1613-6.5G"),
    ("misspelt", "transmision blet 669 18 30 tollwyn", "Tollwyne TW 2009.8"),
    (
        "said in words",
        "belt six hundred and sixty nine by eighteen by thirty aramid",
        "Brackenloop LP-669-18-30",
    ),
    ("ISO sizes of a bearing", "ball bearing 17 40 12 kernhasel 2rs c3", "Kernhasel KH 6203-2RS/C3"),
]


def choose(page: Page, options: str, value: str) -> None:
    """Go down the options that are offered, to the one wanted, and take it."""
    option = page.locator(f'{options} [data-value="{value}"]')
    expect(option).to_be_visible()
    for _ in range(9):
        page.keyboard.press("ArrowDown")
        if option.get_attribute("aria-selected") == "true":
            break
    page.keyboard.press("Enter")


@pytest.mark.parametrize(("kind", "text", "part"), QUESTIONS, ids=[kind for kind, _, _ in QUESTIONS])
def test_a_question_is_completed_and_answered_by_keyboard(page: Page, base_url: str, kind, text, part):
    page.goto(base_url + "/")
    page.keyboard.type("sorrele")
    choose(page, "#engine-options", "plover-50-s")
    expect(page.locator("#engine")).to_have_value("plover-50-s")
    expect(page.locator("#asked")).to_be_focused()
    page.keyboard.type(text)
    choose(page, "#part-options", part)
    page.wait_for_url("**/?engine=plover-50-s&asked=*")
    expect(page.locator("#asked")).to_have_value(part)
    expect(page.locator(".outcome").first).to_be_visible()


@pytest.mark.parametrize("width", [390, 1280])
def test_the_find_page_answers_as_one_types_and_never_scrolls_sideways(page: Page, base_url: str, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(base_url + "/find")
    page.keyboard.type("vario belt 670 18 30")
    expect(page.locator("#results")).to_contain_text("Nothing sure")
    expect(page.locator("#near")).to_contain_text("not equal")
    expect(page.locator("#results mark").first).to_have_text("670")
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize(
    ("path", "field", "answer"), [("/find", "q", "#results"), ("/", "asked", "#part-options")]
)
def test_letters_typed_before_the_page_listens_are_answered(page: Page, base_url: str, path, field, answer):
    typed = f"document.getElementById('{field}').value = 'vario belt 669 18 30'"
    page.add_init_script(f"document.addEventListener('DOMContentLoaded', () => {{ {typed} }})")
    page.goto(base_url + path)
    expect(page.locator(answer)).to_contain_text("669")


def test_an_answer_that_comes_late_keeps_the_row_chosen_meanwhile(page: Page, base_url: str):
    page.goto(base_url + "/")
    page.locator("#asked").focus()
    page.keyboard.type("belt 669 18 30")
    expect(page.locator("#part-options [role=option]").nth(2)).to_be_visible()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    chosen = page.locator("#part-options [aria-selected=true]").get_attribute("data-value")
    page.evaluate(
        "const list = document.getElementById('part-options');"
        "const fresh = [...list.children].map((row) => row.cloneNode(true));"
        "fresh.forEach((row) => row.setAttribute('aria-selected', 'false'));"
        "list.replaceChildren(...fresh)"
    )
    expect(page.locator("#part-options [aria-selected=true]")).to_have_attribute("data-value", chosen)


def test_a_word_is_added_by_keyboard_and_understood(page: Page, base_url: str):
    page.goto(base_url + "/words")
    page.locator("#word").focus()
    page.keyboard.type("snubber")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Remove snubber")).to_be_visible()
    page.goto(base_url + "/find?q=snubber+669+18+30")
    expect(page.locator("#results")).to_contain_text("sure")
    page.goto(base_url + "/words")
    page.get_by_role("button", name="Remove snubber").press("Enter")
    expect(page.get_by_role("button", name="Remove snubber")).to_have_count(0)
