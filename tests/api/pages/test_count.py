"""The counting page over the demo catalogue, by its forms alone. Expected numbers: stock.csv of the demo."""

import re
from threading import Thread

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, text

PAGE = {"accept": "text/html"}
BELT = "2301273122306"  # parts.csv: Brackenloop LP-669-18-30, 14 pieces at the counter in stock.csv


@pytest.fixture
def count(client: TestClient) -> str:
    response = client.post("/count", data={"location": "counter"}, headers=PAGE, follow_redirects=False)
    assert response.status_code == 303
    return response.headers["location"]


def scan(client: TestClient, count: str, code: str, scan_id: str = "", status: int = 200) -> str:
    response = client.post(f"{count}/scans", data={"code": code, "scan_id": scan_id}, headers=PAGE)
    assert response.status_code == status, response.text
    return " ".join(response.text.split())


def read_pieces(page: str) -> dict[str, str]:
    return {
        name: pieces
        for pieces, name in re.findall(r'name="pieces" value="(\d+)"[^>]*"Pieces of ([^"]+)"', page)
    }


def read_stock(engine: Engine, number: str) -> int:
    with engine.connect() as connection:
        return connection.execute(
            text(
                "SELECT on_hand FROM stock_level JOIN part ON part.id = part_id JOIN location ON"
                " location.id = location_id WHERE part_number = :number AND location = 'counter'"
            ),
            {"number": number},
        ).scalar_one()


def count_movements(engine: Engine) -> int:
    with engine.connect() as connection:
        return connection.execute(text("SELECT count(*) FROM stock_movement")).scalar_one()


def post(client: TestClient, count: str, **fields: str):
    review = client.get(f"{count}/review", headers=PAGE).text
    seen = re.search(r'name="seen" value="(\d+)"', review)
    return client.post(f"{count}/post", data={"seen": seen[1] if seen else "0", **fields}, headers=PAGE)


@pytest.mark.parametrize(
    "code", [BELT, f"]E0{BELT}\r", f"0{BELT}", "LP-669-18-30", "lp669-18 30", "Brackenloop LP-669-18-30"]
)
def test_every_way_to_name_a_part_counts_one_piece(client: TestClient, count: str, code: str):
    assert read_pieces(scan(client, count, code)) == {"Brackenloop LP-669-18-30": "1"}


def test_shelf_label_opens_a_line_and_the_typed_number_fills_it(client: TestClient, count: str):
    page = scan(client, count, "https://shop.test/parts/Brackenloop/LP-669-18-30")
    assert read_pieces(page) == {"Brackenloop LP-669-18-30": "0"}
    assert "label read, no piece yet" in page
    assert read_pieces(scan(client, count, "=12")) == {"Brackenloop LP-669-18-30": "12"}


def test_unknown_code_is_set_aside_with_the_reason_and_counts_for_nothing(client: TestClient, count: str):
    assert "is no article number, part number or shelf label" in scan(client, count, "banana")
    # GS1 General Specifications: the check digit of 230127312230 is 6 (the demo's own number ends so).
    page = scan(client, count, "2301273122305")
    assert "ends in 5 where the check digit is 6" in page
    assert read_pieces(page) == {}
    assert "No part carries the article number" in scan(client, count, "2900000012349")


def test_number_of_two_makers_is_set_aside_until_one_is_chosen(client: TestClient, count: str):
    page = scan(client, count, "QR-116")
    choices = dict(re.findall(r'name="part_id" value="(\d+)">([^<]+)<', page))
    assert set(choices.values()) == {"Pimperlock QR-116", "Quarrox QR-116"}
    chosen = next(part_id for part_id, name in choices.items() if name == "Quarrox QR-116")
    page = client.post(f"{count}/set-aside", data={"code": "QR-116", "part_id": chosen}, headers=PAGE).text
    assert read_pieces(page) == {"Quarrox QR-116": "1"}
    assert "Set aside" not in page


def test_repeated_scan_id_counts_once(client: TestClient, count: str):
    scan(client, count, BELT, "one")
    assert read_pieces(scan(client, count, BELT, "one")) == {"Brackenloop LP-669-18-30": "1"}


def test_many_scanners_at_once_lose_no_scan(client: TestClient, count: str):
    def work() -> None:
        for _ in range(10):
            scan(client, count, BELT)

    threads = [Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert read_pieces(client.get(count, headers=PAGE).text) == {"Brackenloop LP-669-18-30": "40"}


@pytest.mark.parametrize("pieces", ["", "x", "-1", "1.5", "99999999", "1 000"])
def test_pieces_that_are_no_number_are_refused_and_change_nothing(
    client: TestClient, count: str, pieces: str
):
    part = re.search(r'name="part" value="(\d+)"', scan(client, count, BELT))
    assert part is not None
    response = client.post(
        f"{count}/lines", data={"part": part[1], "do": "set", "pieces": pieces}, headers=PAGE
    )
    assert response.status_code == 422
    assert read_pieces(client.get(count, headers=PAGE).text) == {"Brackenloop LP-669-18-30": "1"}


def test_preview_writes_nothing_and_shows_the_difference(client: TestClient, count: str, demo_engine: Engine):
    before = count_movements(demo_engine)
    scan(client, count, BELT)
    review = " ".join(client.get(f"{count}/review", headers=PAGE).text.split())
    assert 'data-label="Ledger" class="number">14<' in review
    assert "−13" in review
    assert (count_movements(demo_engine), read_stock(demo_engine, "LP-669-18-30")) == (before, 14)


def test_count_is_booked_as_one_batch_and_only_once(client: TestClient, count: str, demo_engine: Engine):
    before = count_movements(demo_engine)
    scan(client, count, BELT)
    scan(client, count, "=12")
    scan(client, count, "banana")
    page = post(client, count).text
    assert "Count booked" in page
    assert "banana" in page
    assert read_stock(demo_engine, "LP-669-18-30") == 12
    assert count_movements(demo_engine) == before + 1
    again = client.post(f"{count}/post", data={"seen": "3"}, headers=PAGE)
    assert "Count booked" in again.text
    assert count_movements(demo_engine) == before + 1


def test_count_booked_just_before_a_crash_is_not_booked_again(
    client: TestClient, count: str, demo_engine: Engine
):
    scan(client, count, BELT)
    post(client, count)
    path = client.app.state.counts.get_path(count.removeprefix("/count/"), ".count")  # type: ignore[attr-defined]
    whole = path.read_bytes()
    path.write_bytes(whole[: whole.rindex(b"\n")])  # the server stopped before it closed the sheet
    before = count_movements(demo_engine)
    assert "Count booked" in post(client, count).text
    assert count_movements(demo_engine) == before
    assert read_stock(demo_engine, "LP-669-18-30") == 1


def test_what_is_sold_while_counting_is_not_booked_twice(client: TestClient, count: str, demo_engine: Engine):
    scan(client, count, BELT)
    scan(client, count, "=14")
    sold = client.post(
        "/api/stock/moves",
        json={
            "kind": "issue",
            "location": "counter",
            "maker": "Brackenloop",
            "part_number": "LP-669-18-30",
            "quantity": 2,
        },
        headers={"Idempotency-Key": "sale-1"},
    )
    assert sold.status_code in (200, 201), sold.text
    review = " ".join(client.get(f"{count}/review", headers=PAGE).text.split())
    assert "−2 moved while counting" in review
    post(client, count)
    assert read_stock(demo_engine, "LP-669-18-30") == 12


def test_scan_after_the_preview_asks_to_look_again(client: TestClient, count: str, demo_engine: Engine):
    scan(client, count, BELT)
    before = count_movements(demo_engine)
    response = client.post(f"{count}/post", data={"seen": "0"}, headers=PAGE)
    assert response.status_code == 409
    assert "look at it again" in response.text
    assert count_movements(demo_engine) == before


def test_count_thrown_away_is_gone(client: TestClient, count: str):
    scan(client, count, BELT)
    client.post(f"{count}/discard", headers=PAGE)
    assert client.get(count, headers=PAGE).status_code == 404


def test_unknown_location_says_the_nearest(client: TestClient):
    response = client.post("/count", data={"location": "countre"}, headers=PAGE)
    assert response.status_code == 404
    assert "counter" in response.text


def test_form_of_another_site_counts_nothing(client: TestClient, count: str):
    response = client.post(
        f"{count}/scans", data={"code": BELT}, headers=PAGE | {"origin": "https://other.test"}
    )
    assert response.status_code == 403
    assert read_pieces(client.get(count, headers=PAGE).text) == {}


def test_codes_are_shown_as_text(client: TestClient, count: str):
    page = scan(client, count, "<script>x</script>")
    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page


def read_stock_of(engine: Engine) -> dict[str, int]:
    with engine.connect() as connection:
        rows = connection.execute(
            text(
                "SELECT part_number, on_hand FROM stock_level JOIN part ON part.id = part_id JOIN location ON"
                " location.id = location_id WHERE location = 'counter' AND on_hand > 0"
            )
        )
        return {row[0]: row[1] for row in rows}


def review_rest(client: TestClient, count: str) -> str:
    return client.get(f"{count}/review?rest=none", headers=PAGE).text


def post_rest(client: TestClient, count: str, page: str):
    fields = dict(re.findall(r'name="(seen|rest)" value="([^"]+)"', page.replace('value="none"', "")))
    return client.post(f"{count}/post", data=fields, headers=PAGE)


def test_parts_not_scanned_stay_unless_they_are_said_to_be_none(
    client: TestClient, count: str, demo_engine: Engine
):
    before = read_stock_of(demo_engine)
    scan(client, count, BELT)
    scan(client, count, "banana")
    review = client.get(f"{count}/review", headers=PAGE).text
    assert "Not counted, stays as it is" in review
    assert 'name="rest" value="none"> All of this place' in review  # off until it is asked for
    page = review_rest(client, count)
    assert f"{len(before) - 1} parts</span>" in page
    assert page.count('class="number lack">−') == len(before)  # the belt was scanned once of 14
    assert "Codes are still set aside." in page
    assert read_stock_of(demo_engine) == before
    movements = count_movements(demo_engine)
    booked = post_rest(client, count, page)
    assert "Count booked" in booked.text
    assert "banana" in booked.text
    assert read_stock_of(demo_engine) == {"LP-669-18-30": 1}
    assert count_movements(demo_engine) == movements + len(before)


def test_parts_that_moved_or_may_be_behind_a_code_are_not_none(
    client: TestClient, count: str, demo_engine: Engine
):
    before = read_stock_of(demo_engine)
    scan(client, count, BELT)
    scan(client, count, "QR-116")  # of two makers: set aside
    moved = next(number for number in before if number not in ("LP-669-18-30", "QR-116"))
    with demo_engine.connect() as connection:
        maker = connection.execute(
            text("SELECT maker FROM maker JOIN part ON maker.id = maker_id WHERE part_number = :n"),
            {"n": moved},
        ).scalar()
    move = {"kind": "receive", "maker": maker, "part_number": moved, "location": "counter", "quantity": 2}
    page = review_rest(client, count)
    answer = client.post("/api/stock/moves", json=move, headers={"Idempotency-Key": "m"})
    assert answer.status_code in (200, 201), answer.text
    stale = post_rest(client, count, page)
    assert stale.status_code == 409
    assert "have moved since this preview" in stale.text
    assert read_stock_of(demo_engine) == before | {moved: before[moved] + 2}
    page = review_rest(client, count)
    assert "Stay as they are" in page
    assert "Count booked" in post_rest(client, count, page).text
    kept = {"LP-669-18-30": 1, moved: before[moved] + 2}
    kept |= {"QR-116": before["QR-116"]} if "QR-116" in before else {}
    assert read_stock_of(demo_engine) == kept


def test_older_count_without_a_mark_does_not_offer_it(client: TestClient, count: str, demo_engine: Engine):
    path = client.app.state.counts.get_path(count.removeprefix("/count/"), ".count")  # type: ignore[attr-defined]
    path.write_text(re.sub(r', "mark": \d+', "", path.read_text()))
    scan(client, count, BELT)
    page = review_rest(client, count)
    assert "began before it was noted where the ledger stood" in page
    before = read_stock_of(demo_engine)
    forged = client.post(f"{count}/post", data={"seen": "1", "rest": "0" * 32}, headers=PAGE)
    assert forged.status_code == 409
    assert read_stock_of(demo_engine) == before
