"""Pages that find, and the page of words."""

from fastapi.testclient import TestClient


def test_a_found_part_leads_on_to_its_fit_for_the_engine_in_hand(client: TestClient):
    page = client.get("/find", params={"q": "belt 669 18 30", "engine": "plover-50-s"}).text
    assert "Read as: <b>belt, 669 × 18 × 30</b>" in page
    assert "/?engine=plover-50-s&amp;asked=Brackenloop%20LP-669-18-30" in page


def test_what_differs_is_marked_and_near_sizes_are_labelled(client: TestClient):
    page = client.get("/find", params={"q": "vario belt 670 18 30"}).text
    assert "<mark>670</mark>" in page
    assert "Near sizes – not equal" in page


def test_options_of_the_counter_say_how_the_text_was_read(client: TestClient):
    options = client.get("/find/pick", params={"asked": "belt 669 18 30"}).text
    assert "read as: belt, 669 × 18 × 30" in options
    assert 'data-value="Brackenloop LP-669-18-30"' in options


def test_an_engine_written_nearly_right_is_offered(client: TestClient):
    assert 'data-value="plover-50-s"' in client.get("/engines/pick", params={"engine": "sorrele"}).text


def test_codes_of_a_note_lead_on_to_the_look_up(client: TestClient):
    page = client.get("/read", params={"text": "belt says 743 20 30, rollers 16x13 7 g"}).text
    assert "/find?q=belt%20743%2020%2030" in page
    assert "roller" in page


def test_a_word_of_the_shop_is_understood_at_once_and_can_be_taken_back(client: TestClient):
    asked = {"q": "snubber 669 18 30"}
    assert client.get("/api/find", params=asked).json()["results"][0]["certainty"] != "sure"
    added = client.post("/words", data={"part_type": "drive_belt", "word": "snubber"}, follow_redirects=False)
    assert added.status_code == 303
    assert "<b>snubber</b>" in client.get("/words").text
    assert client.get("/api/find", params=asked).json()["results"][0]["certainty"] == "sure"
    client.post("/words/remove", data={"part_type": "drive_belt", "word": "snubber"})
    assert client.get("/api/find", params=asked).json()["results"][0]["certainty"] != "sure"


def test_a_word_that_cannot_be_taken_is_explained_on_the_page(client: TestClient):
    answer = client.post("/words", data={"part_type": "drive_belt", "word": " 12 "})
    assert answer.status_code == 422
    assert "holds no letter" in answer.text
    assert client.post("/words", data={"part_type": "spoon", "word": "spoon"}).status_code == 422


def test_parts_listed_for_the_engine_that_is_named_come_first_and_lead_on_to_it(client: TestClient):
    page = client.get("/find", params={"q": "clutch shoes for a Larrimer Campionet 50"}).text
    assert "The first rows are listed for plover-50-w; ask whether they fit." in page
    assert "/?engine=plover-50-w&amp;asked=Sedgeholm%2056-706-XP2" in page


def test_typed_answer_says_aloud_how_it_was_understood(client: TestClient):
    part = client.get("/find/results", params={"q": "belt 669 18 30"}).text
    assert '<div hx-swap-oob="innerHTML:#said">Read as: belt, 669 × 18 × 30.' in part
    whole = client.get("/find", params={"q": "belt 669 18 30"}).text
    assert 'id="said"' in whole
    assert "hx-swap-oob" not in whole


def test_codes_of_a_note_are_said_in_words_with_their_units(client: TestClient):
    page = client.get("/read", params={"text": "bulb 12V 10W, rollers 16x13 7 g, ordered TW 2009.8"}).text
    assert "voltage <b>12</b> V" in page
    assert "outer diameter <b>16</b> mm" in page
    assert "looks like a part number" in page
