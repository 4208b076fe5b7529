"""Stock over HTTP: the shapes that other programs rely on, and postings that are made once."""

import threading

import pytest
from fastapi.testclient import TestClient

from kb.database import open_reader
from kb.lookups.check import check_database

LOW = "/api/stock/low?location=counter&as_of=2026-11-20"
BELT = {"location": "counter", "maker": "Brackenloop", "part_number": "LP-669-18-30"}
CONTRACT_FIELDS = {
    "maker",
    "part_number",
    "on_hand",
    "on_order",
    "committed",
    "available",
    "pooled_with",
    "reorder_point",
    "suggested_quantity",
    "days_of_cover",
    "supplier",
    "reason",
    "certainty",
}


def post(client: TestClient, key: str | None = "k-1", **body):
    headers = {} if key is None else {"Idempotency-Key": key}
    return client.post("/api/stock/moves", json=BELT | body, headers=headers)


def read_belt(client: TestClient, location: str = "counter"):
    answer = client.get("/api/stock", params={"part": "Brackenloop LP-669-18-30"}).json()
    return next(place for place in answer["parts"][0]["places"] if place["location"] == location)


def test_low_stock_has_the_agreed_shape(client):
    answer = client.get(LOW).json()
    assert (answer["location"], answer["as_of"]) == ("counter", "2026-11-20")
    assert answer["lines"]
    for line in answer["lines"]:
        assert line.keys() >= CONTRACT_FIELDS
        assert line["available"] == line["on_hand"] - line["committed"]
        assert line["certainty"] in ("sure", "probable", "unsure")
        assert line["reason"]
        codes = {reason["code"] for reason in line["reasons"]}
        is_below = line["available"] + line["on_order"] <= line["reorder_point"]
        assert is_below == ("at_or_below_reorder_point" in codes)
        assert is_below or "new_number_short" in codes or line["list"] == "chase"


def test_a_member_at_nought_is_covered_by_its_equal(client):
    """demo README: Sedgeholm 13-316-DB1 at nought is covered by its pooled twin Brackenloop LP-669-18-30."""
    numbers = {line["part_number"] for line in client.get(LOW).json()["lines"]}
    assert not numbers & {"13-316-DB1", "LP-669-18-30"}


def test_without_a_location_all_places_are_one_shelf(client):
    answer = client.get("/api/stock/low?as_of=2026-11-20").json()
    assert answer["location"] is None
    assert answer["lines"]


def test_the_low_list_comes_page_by_page_and_whole_without_a_limit(client):
    whole = client.get(LOW)
    lines, seen, address = whole.json()["lines"], [], f"{LOW}&limit=20"
    assert (whole.json()["after"], whole.headers.get("link")) == (None, None)
    while address:
        page = client.get(address)
        assert page.json()["judged"] == whole.json()["judged"]
        seen.append(page.json()["lines"])
        address = page.headers.get("link", "").removeprefix("<").removesuffix('>; rel="next"')
    assert [line for page in seen for line in page] == lines
    assert {len(page) for page in seen[:-1]} == {20}
    assert len(seen) == -(-len(lines) // 20) > 2


def test_the_low_list_goes_on_where_a_line_that_left_it_stood(client):
    """What was the last line of a page is received: the next page misses none and repeats none."""
    before = [line["part_number"] for line in client.get(LOW).json()["lines"]]
    page = client.get(f"{LOW}&limit=5").json()
    last = page["lines"][4]
    gone = {"maker": last["maker"], "part_number": last["part_number"], "quantity": 500, "kind": "receive"}
    assert post(client, **gone).status_code == 201
    following = client.get(f"{LOW}&limit=5&after={page['after']}").json()["lines"]
    assert [line["part_number"] for line in following] == before[5:10]


@pytest.mark.parametrize("path", [LOW, "/api/stock?limit=5", "/api/engines?limit=5"])
@pytest.mark.parametrize("mark", ["made-up", "9" * 40, "cGxvdmVyLTUwLXN"])
def test_a_mark_that_was_not_given_out_is_refused(client, path, mark):
    answer = client.get(f"{path}&after={mark}")
    assert (answer.status_code, answer.json()["field"]) == (422, "after")
    assert "take it from the page before" in answer.json()["detail"]


@pytest.mark.parametrize("limit", ["0", "201", "ten"])
def test_a_page_size_out_of_bounds_is_refused(client, limit):
    assert client.get(f"{LOW}&limit={limit}").status_code == 422


def test_the_shelf_names_its_next_page_in_the_link_header(client):
    page = client.get("/api/stock?limit=5")
    assert page.headers["link"] == f'</api/stock?limit=5&after={page.json()["after"]}>; rel="next"'
    assert len(client.get("/api/stock?limit=5&after=" + page.json()["after"]).json()["parts"]) == 5


def test_an_unknown_location_names_the_nearest(client):
    answer = client.get("/api/stock/low?location=countr")
    assert (answer.status_code, answer.json()["nearest"]) == (404, ["counter"])


def test_a_bad_day_is_refused(client):
    assert client.get("/api/stock/low?as_of=yesterday").status_code == 422


def test_demand_after_the_day_is_ignored(client):
    """On the first of December 2023 only November 2023 is a whole month: nothing has over one own month."""
    answer = client.get("/api/stock/low?location=counter&as_of=2023-12-01").json()
    assert max(line["own_months"] for line in answer["lines"]) <= 2.0


def test_an_issue_is_booked_once_under_its_key(client):
    first = post(client, kind="issue", quantity=2)
    again = post(client, kind="issue", quantity=2)
    assert (first.status_code, first.json()["on_hand"]) == (201, 12)  # 14 in stock.csv
    assert (again.status_code, again.content) == (201, first.content)
    assert read_belt(client)["on_hand"] == 12


def test_the_same_key_with_another_body_is_refused(client):
    post(client, kind="issue", quantity=2)
    answer = post(client, kind="issue", quantity=3)
    assert (answer.status_code, answer.json()["field"]) == (422, "Idempotency-Key")
    assert read_belt(client)["on_hand"] == 12


@pytest.mark.parametrize("key", [None, "x" * 256])
def test_a_missing_or_unusable_key_is_refused_and_named(client, key):
    answer = post(client, key, kind="issue", quantity=1)
    assert answer.status_code == 400
    assert "Idempotency-Key" in answer.json()["detail"]


def test_more_than_there_is_is_a_conflict_with_what_is_on_hand(client):
    answer = post(client, kind="issue", quantity=15)
    assert (answer.status_code, answer.json()["on_hand"]) == (409, 14)
    assert post(client, kind="issue", quantity=15).content == answer.content
    assert post(client, "k-2", kind="issue", quantity=14).json()["on_hand"] == 0


def test_an_unknown_part_leaves_the_key_free(client):
    wrong = post(client, kind="issue", quantity=1, part_number="LP-669-18-3O-X")
    assert wrong.status_code == 404
    assert post(client, kind="issue", quantity=1).status_code == 201


def test_a_move_changes_both_places(client):
    answer = post(client, kind="move", quantity=4, to_location="branch").json()
    assert (answer["on_hand"], answer["to_on_hand"]) == (10, 5)
    assert post(client, "k-2", kind="move", quantity=1).status_code == 422


def test_a_count_is_booked_against_the_snapshot_that_was_shown(client):
    snapshot = read_belt(client)["snapshot"]
    post(client, "sale", kind="issue", quantity=2)
    answer = post(client, "count", kind="count", quantity=13, snapshot=snapshot)
    assert (answer.json()["quantity"], answer.json()["on_hand"]) == (-1, 11)


def test_what_was_asked_for_and_not_had_is_written_down(client):
    answer = post(client, kind="unmet", quantity=3, note="wanted today")
    assert (answer.status_code, answer.json()["kind"]) == (201, "unmet")
    assert read_belt(client)["on_hand"] == 14


@pytest.mark.parametrize(
    "wrong", [{"quantity": -1}, {"quantity": 1.5}, {"quantity": "2"}, {"kind": "steal"}, {"colour": "red"}]
)
def test_a_malformed_posting_is_refused(client, wrong):
    assert post(client, **({"kind": "issue", "quantity": 1} | wrong)).status_code == 422


def test_the_ledger_shows_the_balance_after_each_line(client):
    post(client, kind="issue", quantity=2)
    params = {"maker": "Brackenloop", "part_number": "LP-669-18-30"}
    lines = client.get("/api/stock/movements", params=params).json()["movements"]
    assert [(line["quantity"], line["balance"]) for line in lines] == [(-2, 12), (1, 1), (14, 14)]


def test_stocked_articles_come_page_by_page(client):
    first = client.get("/api/stock?limit=3").json()
    second = client.get("/api/stock", params={"limit": 3, "after": first["after"]}).json()
    numbers = [row["part_number"] for page in (first, second) for row in page["parts"]]
    assert len(set(numbers)) == 6


def test_an_unknown_part_of_the_stock_names_the_nearest(client):
    answer = client.get("/api/stock?part=LP-669-18-31")
    assert answer.status_code == 404
    assert "LP-669-18-30" in answer.json()["nearest"]


def test_the_value_counts_parts_without_a_price_apart(client):
    value = client.get("/api/stock/value?location=counter").json()
    assert value["value_minor"]["EUR"] > 0
    assert value["pieces"] > value["pieces_without_price"] >= 0


def test_many_clients_sell_the_last_pieces_once(client, demo_engine):
    """14 pieces, 20 clients who want one each."""
    codes, gate = [], threading.Barrier(20)

    def sell(number: int) -> None:
        gate.wait()
        codes.append(post(client, f"client-{number}", kind="issue", quantity=1).status_code)

    threads = [threading.Thread(target=sell, args=(number,)) for number in range(20)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert sorted(codes) == [201] * 14 + [409] * 6
    with open_reader(demo_engine) as session:
        assert all(result.ok for result in check_database(session))


def test_the_value_of_a_place_that_is_not_known_is_not_found(client):
    response = client.get("/api/stock/value?location=countr")
    assert response.status_code == 404
    assert "nearest spelling is 'counter'" in response.json()["detail"]
