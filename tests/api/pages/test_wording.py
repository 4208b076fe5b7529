"""What pages say to those who have not been there before: units, sources by name, and what to do next.

Names and numbers: the demo catalogue.
"""

import pytest
from fastapi.testclient import TestClient

PAGE = {"accept": "text/html"}
CARD = "/card?engine=plover-50-s&job=belt_service"
SAID = [
    ("/suppliers", "Freight is free from, GBP"),
    ("/suppliers", "a grey figure in it is what the sheet says"),
    ("/jobs", '<option value="plover-50-s">'),
    ("/jobs", 'open the <a href="/card">card</a> first'),
    ("/trace", '<a href="/trace?text=Rattle%20at%20idle">'),
    ("/labels", "or choose a place to label all of it"),
    ("/stock/Brackenloop/LP-669-18-30", "In pieces, where nothing else is said."),
    ("/stock/low?as_of=2026-11-20", "EUR each: for what cannot wait."),
    ("/gauge?engine=plover-50-s&position=drive_belt&quantity=top_width&value=16.9", 'value="top width"'),
    (CARD, "maker&#39;s manual: Sedgeholm Plover service book"),
]


@pytest.mark.parametrize(
    ("path", "words"), SAID, ids=[f"{path}-{place}" for place, (path, _) in enumerate(SAID)]
)
def test_a_page_says_what_its_reader_needs(client: TestClient, path: str, words: str):
    answer = client.get(path, headers=PAGE)
    assert answer.status_code == 200
    assert words in answer.text


def test_the_card_names_no_source_by_its_internal_word(client: TestClient):
    """sources.csv calls the manual of these engines man-plover."""
    assert "man-plover" not in client.get(CARD, headers=PAGE).text


def test_symptoms_to_choose_from_go_when_something_was_said(client: TestClient):
    assert "Or choose what it is nearest to" not in client.get("/trace?text=rattle", headers=PAGE).text
