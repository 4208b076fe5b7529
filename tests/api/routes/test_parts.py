"""One part over HTTP."""

from fastapi.testclient import TestClient

from api.answers.parts import PART_EXAMPLE


def test_example_in_the_document_is_the_answer_that_is_given(client: TestClient):
    answer = client.get("/api/parts/Brackenloop/LP-669-18-30").json()
    plain = {name: value for name, value in PART_EXAMPLE.items() if name != "size"}
    assert answer.items() >= plain.items()
    assert answer["size"].items() >= PART_EXAMPLE["size"].items()


def test_part_number_may_hold_slashes(client: TestClient):
    answer = client.get("/api/parts/Fernquill/FQ/45387/E").json()
    assert answer["part_number"] == "FQ/45387/E"


def test_part_number_may_hold_blanks_and_the_maker_any_case(client: TestClient):
    assert client.get("/api/parts/tollwyne/TW 669.2").json()["maker"] == "Tollwyne"


def test_chain_of_replacements_is_named_both_ways(client: TestClient):
    old = client.get("/api/parts/Sedgeholm/92-525-DB2").json()
    new = client.get("/api/parts/Sedgeholm/94-611-DB3").json()
    assert [item["part_number"] for item in old["replaced_by"]] == ["94-611-DB3"]
    assert [item["part_number"] for item in new["replaces"]] == ["92-525-DB2"]
    assert old["replaced_by"][0]["kind"] == "supersedes"


def test_offers_have_price_and_minimum_quantity(client: TestClient):
    offers = client.get("/api/parts/Brackenloop/LP-669-18-30").json()["offers"]
    assert (36_06, 1) in [(offer["price_minor"], offer["minimum_quantity"]) for offer in offers]


def test_fits_name_engine_and_source(client: TestClient):
    fits = client.get("/api/parts/Brackenloop/LP-669-18-30").json()["fits"]
    assert {"plover-50-s", "plover-50-w"} <= {fit["engine"] for fit in fits}
    assert all(fit["source"] for fit in fits)


def test_unknown_maker_and_unknown_number_name_the_nearest(client: TestClient):
    maker = client.get("/api/parts/Tollwine/TW 669.2")
    number = client.get("/api/parts/Tollwyne/TW 669.3")
    assert maker.status_code == number.status_code == 404
    assert maker.json()["nearest"] == ["Tollwyne"]
    assert "TW 669.2" in number.json()["nearest"]
