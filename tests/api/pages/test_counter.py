"""The counter page as text. Expected values: the questions in the README of the demo catalogue."""

from html.parser import HTMLParser
from urllib.parse import parse_qs, urlsplit

import pytest
from fastapi.testclient import TestClient

PAGE = {"accept": "text/html"}


class Reader(HTMLParser):
    """Text, links and inline code of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.links: dict[str, str] = {}
        self.text = ""
        self.inline: list[str] = []
        self._address: str | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "a":
            self._address = named.get("href")
        if "style" in named or any(name.startswith("on") for name in named) or tag == "style":
            self.inline.append(tag)
        if tag == "script" and "src" not in named:
            self.inline.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._address:
            self.links[self._address] = self.links.get(self._address, "") + data

    def handle_endtag(self, tag: str) -> None:
        if tag == "a":
            self._address = None


def look(client: TestClient, path: str, status: int = 200) -> Reader:
    response = client.get(path, headers=PAGE)
    assert response.status_code == status, response.text
    assert response.headers["content-type"].startswith("text/html")
    reader = Reader(response.text)
    assert reader.inline == []
    return reader


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ("669-18-30", "✓ fits"),
        ("Tollwyne TW 669.2", "≈ fits, with a change"),
        ("743-20-30", "✗ does not fit"),
        ("55 120 7", "? not known"),
    ],
)
def test_verdict_is_a_sign_and_a_word(client: TestClient, asked: str, word: str):
    page = look(client, f"/?engine=plover-50-s&asked={asked}")
    heading = page.text[page.text.index("Check the O-ring") :].split("plover-50-s")[0]
    assert word in " ".join(heading.split())


def test_page_without_a_question_asks_one(client: TestClient):
    assert "In your hand" in look(client, "/").text


def test_misspelt_engine_is_offered_as_links_that_keep_the_question(client: TestClient):
    page = look(client, "/?engine=plover-50-x&asked=669-18-30", status=404)
    questions = [parse_qs(urlsplit(address).query) for address in page.links if "asked" in address]
    assert {question["engine"][0] for question in questions} >= {"plover-50-s", "plover-50-l"}
    assert {question["asked"][0] for question in questions} == {"669-18-30"}


def test_letters_of_a_vehicle_list_its_engines_and_choose_none(client: TestClient):
    page = look(client, "/?engine=campionet&asked=669-18-30")
    assert "/?engine=plover-50-w&asked=669-18-30" in page.links
    assert "Larrimer Campionet 50 (2011–2014)" in page.text
    assert "What else would do" not in page.text


def test_unreadable_size_shows_what_is_wrong_and_an_example(client: TestClient):
    page = look(client, "/?engine=plover-50-s&asked=669-18-&position=drive_belt", status=422)
    assert "separator without a number" in page.text
    assert "669-18-30" in page.text


def test_ambiguous_size_offers_both_readings_and_draws_none(client: TestClient):
    page = look(client, "/?engine=curlew-250-b&asked=1000-24-28")
    assert "length 1000 mm, width 24 mm, angle 28°" in page.text
    assert "length 1000 mm, width 28 mm, angle 24°" in page.text
    assert "Nothing was chosen for you." in page.text
    assert "Belt line" not in page.text
    for address in [address for address in page.links if "L%3D1000" in address]:
        assert "can be read in several ways" not in look(client, address).text


def test_number_of_several_makers_offers_each(client: TestClient):
    page = look(client, "/?engine=plover-50-s&asked=55 120 7")
    assert sum("55 120 7" in text for text in page.links.values()) >= 2


def test_fields_of_a_size_lead_to_the_short_address(client: TestClient):
    response = client.get(
        "/?engine=plover-50-s&asked=&position=&belt_length=669&belt_width=18&belt_angle=30&build=belt",
        headers=PAGE,
        follow_redirects=False,
    )
    assert response.status_code == 303
    assert response.headers["location"] == "/?engine=plover-50-s&asked=669-18-30&position=drive_belt"


def test_belt_page_draws_both_belts_and_lists_alternatives_with_stock_and_price(client: TestClient):
    page = look(client, "/?engine=plover-50-s&asked=Tollwyne TW 669.2")
    for said in ("Belt line at full shift", "pitch radius", "What else would do", "counter 14", "36.06 EUR"):
        assert said in page.text


def test_spring_page_shows_its_warning_before_the_reasons(client: TestClient):
    text = look(client, "/?engine=plover-50-s&asked=Pimperlock PL64076").text
    assert text.index("The contra spring is compressed") < text.index("Reasons")
    assert "WARNING" in text


def test_parts_worth_a_look_stand_apart_and_are_not_judged(client: TestClient):
    page = look(client, "/?engine=plover-50-s&asked=N.78.035")
    part = page.text[page.text.index("Worth a look, not judged to fit") :]
    assert "N.35.403" in part
    assert "? not known" in part
    assert "N.35.403" not in page.text[: page.text.index("Worth a look")]
    assert "Worth a look" not in look(client, "/?engine=plover-50-s&asked=669-18-30").text


def test_text_of_the_person_is_escaped(client: TestClient):
    response = client.get("/", params={"engine": "plover-50-s", "asked": "<script>x</script>"}, headers=PAGE)
    assert "<script>x" not in response.text
    assert "&lt;script&gt;x" in response.text


def test_engine_options_are_found_by_vehicle(client: TestClient):
    assert 'data-value="plover-50-s"' in client.get("/engines/pick?engine=sorrelle 50").text


def test_engine_sheet_shows_cautions_before_the_torque_and_both_units(client: TestClient):
    text = look(client, "/engines/plover-50-s").text
    crank = text[text.index("crank nut") : text.index("bell nut")]
    assert crank.index("WARNING") < crank.index("N·m")
    assert "28 lbf·ft" in " ".join(crank.split()).replace("\xa0", " ")
    assert "maker's manual" in crank


@pytest.mark.parametrize("engine", ["dunlin-50-e", "dotterel-100-s", "plover-50-w"])
def test_engine_sheet_says_what_is_not_known(client: TestClient, engine: str):
    assert "not known" in look(client, f"/engines/{engine}").text


def test_every_engine_and_a_part_of_every_maker_has_a_page(client: TestClient):
    for engine in client.get("/api/engines?limit=200").json()["engines"]:
        look(client, f"/engines/{engine['engine']}")
    page = look(client, "/parts/Fernquill/FQ/45387/E")
    assert "FQ/45387/E" in page.text
    assert "/api/parts/Fernquill/FQ%2F45387%2FE" in page.links


def test_unknown_engine_sheet_is_a_page_with_the_nearest_names(client: TestClient):
    assert "plover-50-s" in look(client, "/engines/plover-50-x", status=404).text
