"""Importing on pages over the demo catalogue, by forms alone.

Expected: what the demo catalogue holds (parts.csv, stock.csv, suppliers.csv) and what each made-up file says.
"""

import html
import io
import json
import re
import stat
import zipfile
from datetime import UTC, datetime

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, text

from api.import_watch import ImportWatch

PAGE = {"accept": "text/html"}
PRICES = """Alder list;;;
Art.-Nr.;Hersteller;Preis EUR;Lagerplatz
LP-669-18-30;Brackenloop;12,50;A1
QX99259G;Quarrox;zwoelf;B2
"""
PARTS = """maker,part number,description
Brackenloop,LP 669 18 30,drive belt 669x18
Brackenloop,LP-700-18,drive belt 700 x 18
"""
COUNT = "location,maker,part_number,on_hand,counted_on\ncounter,Brackenloop,LP-669-18-30,9,2026-11-25\n"


@pytest.fixture(autouse=True)
def jobs_within_this_process(client: TestClient) -> None:
    """Pages are the same either way; that jobs run apart is tried where they are run."""
    client.app.state.import_runner.runs_apart = False  # type: ignore[attr-defined]


def upload(client: TestClient, name: str, content: str | bytes, status: int = 200):
    data = content if isinstance(content, bytes) else content.encode()
    response = client.post("/imports", files={"file": (name, data)}, headers=PAGE)
    assert response.status_code == status, response.text
    return response


def read_fields(page: str) -> dict[str, str]:
    """Fields of the columns page as a browser would send them."""
    fields = dict(re.findall(r'<input id="value-\w+" name="(value-\w+)" value="([^"]*)"', page))
    for name, options in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected|<option selected>([^<]*)', options)
        fields[name] = (chosen[1] or chosen[2] or "") if chosen else ""
    return fields


def preview(client: TestClient, page, status: int = 200, **fields: str):
    address = re.search(r'<form action="(/imports/new/[^"]+)" method="post">', page.text)
    assert address is not None
    said = read_fields(page.text) | {name.replace("_", "-", 1): text for name, text in fields.items()}
    response = client.post(address[1], data=said | {"go": "preview"}, headers=PAGE)
    assert response.status_code == status, response.text
    return response


def load(client: TestClient, page, **fields: str):
    address = re.search(r'action="(/imports/new/[^"]+/load)"', page.text)
    assert address is not None
    return client.post(address[1], data=fields, headers=PAGE)


def say(page) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", page.text).split()))


def count_rows(engine: Engine, question: str) -> int:
    with engine.connect() as connection:
        return connection.execute(text(question)).scalar_one()


def test_price_list_shows_samples_beside_each_heading_and_asks_for_the_supplier(client: TestClient):
    page = upload(client, "alder.csv", PRICES)
    fields = read_fields(page.text)
    assert fields["kind"] == "offers"
    assert [fields[f"column-{place}"] for place in range(3)] == ["part_number", "maker", "price"]
    assert "12,50" in page.text
    assert "No column is 'supplier'" in say(page)
    assert fields["value-supplier"] == ""


def test_preview_says_row_by_row_what_is_wrong_and_writes_nothing(client: TestClient, demo_engine: Engine):
    before = count_rows(demo_engine, "SELECT count(*) FROM offer")
    page = preview(client, upload(client, "alder.csv", PRICES), value_supplier="alderton", column_3="")
    said = say(page)
    assert "1 would be added" in said
    assert "1 refused" in said
    assert re.search(r"4 price zwoelf 'zwoelf' is not a number", said)
    assert count_rows(demo_engine, "SELECT count(*) FROM offer") == before
    assert count_rows(demo_engine, "SELECT count(*) FROM import_batch") == 1  # the demo catalogue itself


def test_all_or_nothing_unless_the_good_rows_are_asked_for(client: TestClient, demo_engine: Engine):
    before = count_rows(demo_engine, "SELECT count(*) FROM offer")
    page = preview(client, upload(client, "alder.csv", PRICES), value_supplier="alderton", column_3="")
    assert "Nothing was written" in say(load(client, page))
    assert count_rows(demo_engine, "SELECT count(*) FROM offer") == before
    page = preview(client, upload(client, "alder.csv", PRICES), value_supplier="alderton", column_3="")
    done = load(client, page, keep="true")
    assert "1 added" in say(done)
    assert "1 refused" in say(done)
    assert "zwoelf" in say(done)
    assert count_rows(demo_engine, "SELECT count(*) FROM offer") == before + 1


def test_refused_rows_come_as_csv_that_no_spreadsheet_computes(client: TestClient):
    prices = PRICES.replace("QX99259G", "=1+1")
    page = preview(client, upload(client, "alder.csv", prices), value_supplier="alderton", column_3="")
    address = re.search(r'href="([^"]+/refused\.csv)"', page.text)
    assert address is not None
    answer = client.get(address[1])
    assert answer.headers["content-disposition"] == 'attachment; filename="refused-rows.csv"'
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert lines[0] == "line,problem,Art.-Nr.,Hersteller,Preis EUR,Lagerplatz"
    assert lines[1].startswith("4,")
    assert lines[1].endswith(",'=1+1,Quarrox,zwoelf,B2")  # OWASP: CSV Injection


def test_count_shows_old_and_new_is_loaded_once_and_taken_back(client: TestClient, demo_engine: Engine):
    on_hand = (
        "SELECT on_hand FROM stock_level JOIN part ON part.id = part_id JOIN location ON location.id ="
        " location_id WHERE part_number = 'LP-669-18-30' AND location = 'counter'"
    )
    assert count_rows(demo_engine, on_hand) == 14
    page = preview(client, upload(client, "stock.csv", COUNT))
    assert "1 would be added" in say(page)
    done = load(client, page)
    assert count_rows(demo_engine, on_hand) == 9
    again = load(client, page)
    assert str(again.url) == str(done.url)
    assert count_rows(demo_engine, "SELECT count(*) FROM import_batch") == 2
    listed = client.get("/imports", headers=PAGE).text
    batch = re.search(r'href="(/imports/[^"#]+)#undo"', listed)
    assert batch is not None
    assert "stock.csv" in listed
    taken = client.post(f"{batch[1]}/undo", headers=PAGE)
    assert "Taken back" in say(taken)
    assert count_rows(demo_engine, on_hand) == 14
    refused = client.post(f"{batch[1]}/undo", headers=PAGE)
    assert refused.status_code == 409
    assert "was taken back already" in say(refused)


def test_changed_values_stand_beside_the_old_ones(client: TestClient):
    heading = "maker,part_number,part_type,description,source"
    parts = heading + "\nBrackenloop,LP-669-18-30,drive_belt,{},sup-brackenloop\n"
    page = preview(client, upload(client, "parts.csv", parts.format("A new description")))
    # parts.csv of the demo: CVT belt 669x18x30 aramid cord
    assert "before CVT belt 669x18x30 aramid cord → A new description" in say(page)


def test_possible_duplicate_is_offered_for_decision(client: TestClient):
    page = preview(client, upload(client, "new.csv", PARTS), value_source="sup-brackenloop")
    said = say(page)
    assert "The same part, or a new one?" in said
    assert "differs from the stored 'LP-669-18-30' by marks only" in said
    address = re.search(r'action="([^"]+/decisions)"', page.text)
    assert address is not None
    page = client.post(address[1], data={"decision-LP 669 18 30": "same"}, headers=PAGE)
    assert "The same part, or a new one?" not in say(page)
    assert "0 refused" in say(page)


def test_loading_the_same_file_again_changes_nothing(client: TestClient):
    load(client, preview(client, upload(client, "stock.csv", COUNT)))
    said = say(preview(client, upload(client, "stock.csv", COUNT)))
    assert "1 left alone" in said
    assert "all of it is there already" in said


def test_two_headings_for_one_column_are_refused_with_a_sentence(client: TestClient):
    page = preview(client, upload(client, "alder.csv", PRICES), status=422, column_3="price")
    assert "is given to two headings" in say(page)


def test_another_kind_is_looked_at_anew(client: TestClient):
    page = upload(client, "alder.csv", PRICES)
    address = re.search(r'<form action="(/imports/new/[^"]+)" method="post">', page.text)
    assert address is not None
    page = client.post(address[1], data=read_fields(page.text) | {"kind": "fits", "go": "look"}, headers=PAGE)
    assert read_fields(page.text)["kind"] == "fits"
    assert "No column is 'engine'" in say(page)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("list.pdf", b"%PDF-1.7", "are not read"),
        ("", b"x", "No file was chosen"),
        ("noending", b"x", "are not read"),
    ],
)
def test_file_of_another_kind_is_refused_at_once(client: TestClient, name: str, content: bytes, said: str):
    response = client.post("/imports", files={"file": (name, content)} if name else {}, headers=PAGE)
    assert response.status_code == 422
    assert said in response.text


def build_bomb() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    return packed.getvalue()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("x.xlsx", b"PK\x03\x04cut off"),
        ("x.xlsx", b""),
        ("x.csv", b"\x00\x01\x02\xff"),
        ("x.csv", b""),
        ("x.csv", b"%PDF-1.7"),
        ("x.ods", b"<html>"),
        ("bomb.xlsx", None),
    ],
)
def test_damaged_and_hostile_files_become_a_question_never_a_crash(
    client: TestClient, name: str, content: bytes | None
):
    page = upload(client, name, build_bomb() if content is None else content)
    address = re.search(r'<form action="(/imports/new/[^"]+)" method="post">', page.text)
    assert address is not None
    page = client.post(address[1], data={"kind": "parts", "go": "look"}, headers=PAGE)
    assert page.status_code == 200
    assert "It cannot be read as it is" in page.text


def test_upload_waits_under_a_generated_name_for_this_user_only(client: TestClient):
    upload(client, "../../evil name.csv", PRICES)
    folder = client.app.state.imports.room.folder  # type: ignore[attr-defined]
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    names = sorted(path.name for path in folder.iterdir())
    assert all(re.fullmatch(r"[A-Za-z0-9_-]{22}\.(sheet|json)", name) for name in names)
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


@pytest.mark.parametrize("token", ["x", "a" * 22, "..%2f..%2fetc%2fpasswd"])
def test_unknown_token_is_not_found(client: TestClient, token: str):
    for path in ("", "/preview", "/working", "/refused.csv"):
        assert client.get(f"/imports/new/{token}{path}", headers=PAGE).status_code == 404


def test_upload_thrown_away_is_gone(client: TestClient):
    page = upload(client, "alder.csv", PRICES)
    address = re.search(r'action="([^"]+/discard)"', page.text)
    assert address is not None
    client.post(address[1], headers=PAGE)
    assert list(client.app.state.imports.room.folder.iterdir()) == []  # type: ignore[attr-defined]


def test_load_asked_for_twice_at_once_loads_once(client: TestClient, demo_engine: Engine):
    page = preview(client, upload(client, "stock.csv", COUNT))
    token = re.search(r"/imports/new/([\w-]{22})/load", page.text)
    assert token is not None
    desk = client.app.state.imports  # type: ignore[attr-defined]
    early = [desk.read(token[1]) for _ in range(2)]  # two requests that both saw it not yet loaded
    for waiting in early:
        desk.start(waiting, dry_run=False, keeps_good_rows=False)
    assert desk.read(token[1]).batch is not None
    assert count_rows(demo_engine, "SELECT count(*) FROM import_batch") == 2


def test_long_run_shows_how_far_it_is_and_is_not_begun_twice(client: TestClient):
    page = upload(client, "alder.csv", PRICES)
    token = re.search(r"/imports/new/([\w-]{22})", page.text)
    assert token is not None
    desk = client.app.state.imports  # type: ignore[attr-defined]
    run = desk._runs[token[1]] = ImportWatch()
    working = client.get(f"/imports/new/{token[1]}/preview", headers=PAGE)
    assert str(working.url).endswith("/working")
    assert "Another file is being read; this one is next." in say(working)
    run.begin()
    run.note(30, 120, 12_345)
    asked = {"headers": {"hx-request": "true"}}
    working = client.get(f"/imports/new/{token[1]}/working", **asked)
    assert 'value="25" max="100"' in working.text
    assert "12\u202f345 rows" in working.text
    assert "25 percent read" in working.text
    # What a screen reader was told is not told again before the next quarter.
    assert "percent read" not in client.get(f"/imports/new/{token[1]}/working?told=25", **asked).text
    run.ended.set()
    moved = client.get(f"/imports/new/{token[1]}/working", **asked)
    assert moved.headers["hx-redirect"] == f"/imports/new/{token[1]}/preview"


def test_forms_of_another_site_change_nothing(client: TestClient, demo_engine: Engine):
    batch = count_rows(demo_engine, "SELECT batch FROM import_batch")
    foreign = PAGE | {"origin": "https://other.test"}
    assert client.post(f"/imports/{batch}/undo", headers=foreign).status_code == 403
    assert client.post("/imports", files={"file": ("a.csv", b"x")}, headers=foreign).status_code == 403


def test_names_of_the_file_are_shown_as_text(client: TestClient):
    page = upload(client, "<b>x.csv", "maker,part number,<script>y</script>\nA,1,2\n")
    assert "<script>y" not in page.text
    assert "<b>x.csv" not in page.text


def test_unknown_import_is_a_page(client: TestClient):
    response = client.get("/imports/20200101-000000-abcdef", headers=PAGE)
    assert response.status_code == 404
    assert "is not known" in response.text


def test_day_of_the_import_is_shown(client: TestClient):
    load(client, preview(client, upload(client, "stock.csv", COUNT)))
    assert f"{datetime.now(UTC):%Y-%m-%d}" in client.get("/imports", headers=PAGE).text


# parts.csv of the demo: Brackenloop LP-669-18-30 is 669 × 18 × 30, GTIN 2301273122306.
LIKELY = """maker,part number,description,ean
Brackenloop,LP-NEW,drive belt 669x18x30,
Wren-Test,R-NEW,drive belt 743x20x30,2301273122306
"""


def decide(client: TestClient, page, **words: str):
    address = re.search(r'action="([^"]+/decisions)"', page.text)
    assert address is not None
    said = {f"decision-{name.replace('_', '-')}": word for name, word in words.items()}
    return client.post(address[1], data=said, headers=PAGE)


def test_same_size_and_maker_and_same_article_number_are_offered_for_decision(client: TestClient):
    page = preview(client, upload(client, "new.csv", LIKELY), value_source="sup-brackenloop")
    said = say(page)
    assert "Part 'LP-NEW' has the maker and size of the stored 'LP-669-18-30'" in said
    assert "Part 'R-NEW' has the article number 02301273122306 of the stored 'LP-669-18-30'" in said
    assert "2 would be added" in said
    assert 'value="same as LP-669-18-30"' in page.text  # of its own maker only
    assert page.text.count('value="same as') == 1
    page = decide(client, page, LP_NEW="same as LP-669-18-30", R_NEW="leave out")
    said = say(page)
    assert "0 would be added" in said
    assert "Part 'R-NEW' was left out, as decided." in said
    page = preview(client, upload(client, "new.csv", LIKELY), value_source="sup-brackenloop")
    page = decide(client, page, LP_NEW="new", R_NEW="nonsense")
    assert "Part 'LP-NEW' has" not in say(page)
    assert "Part 'R-NEW' has" in say(page)


def remember(client: TestClient, page, name: str):
    batch = re.search(r'action="(/imports/[^"]+/remember)"', page.text)
    assert batch is not None
    return client.post(batch[1], data={"name": name}, headers=PAGE)


def load_prices(client: TestClient, prices: str):
    page = preview(client, upload(client, "alder.csv", prices), value_supplier="alderton", column_3="")
    return load(client, page, keep="true")


def take_remembered(client: TestClient, page):
    address = re.search(r'action="([^"]+/remembered)"', page.text)
    offered = re.search(
        r'name="name" value="([^"]*)"><input type="hidden" name="kind" value="([^"]*)"', page.text
    )
    assert address is not None
    assert offered is not None
    return client.post(address[1], data={"name": offered[1], "kind": offered[2]}, headers=PAGE)


def test_columns_are_remembered_and_offered_for_the_next_list_of_the_same_headings(client: TestClient):
    done = load_prices(client, PRICES)
    assert 'value="alderton"' in done.text
    assert "Remembered as alderton" in say(remember(client, done, "alderton"))
    page = upload(client, "other name.csv", PRICES.replace("12,50", "13,50"))
    assert "alderton , offers, remembered" in say(page)
    assert "The heading line is the same." in say(page)
    page = take_remembered(client, page)
    fields = read_fields(page.text)
    assert (fields["value-supplier"], fields["column-3"], fields["column-2"]) == ("alderton", "", "price")
    assert "To be decided first" not in page.text
    assert "1 would be changed" in say(preview(client, page))


def test_changed_heading_line_is_said_and_asked(client: TestClient):
    remember(client, load_prices(client, PRICES), "alderton")
    page = upload(
        client, "alderton march.csv", PRICES.replace("Preis EUR", "Price").replace("12,50", "14,50")
    )
    assert "Not the same heading line: gone Preis EUR ; new Price ." in say(page)
    page = take_remembered(client, page)
    assert "The heading line is not the one that was remembered" in say(page)
    # However clear the new heading is, it is asked for.
    assert read_fields(page.text)["column-2"] == "?"
    refused = preview(client, page, status=422)
    assert "Heading 'Price' is new in this list; say what it is" in say(refused)
    assert "1 would be changed" in say(preview(client, refused, column_2="price"))


def test_days_and_decisions_are_not_remembered_and_all_is_forgotten_when_asked(
    client: TestClient, demo_engine: Engine
):
    count = "maker,part_number,on_hand\nBrackenloop,LP-669-18-30,9\n"
    page = preview(
        client, upload(client, "c.csv", count), value_location="counter", value_counted_on="2026-11-25"
    )
    assert "Remembered as my count" in say(remember(client, load(client, page), " my  count "))
    kept = count_rows(demo_engine, "SELECT mapping_json FROM column_map")
    assert json.loads(kept)["values"] == {"location": "counter"}
    listed = client.get("/imports", headers=PAGE)
    assert "my count" in listed.text
    forget = client.post(
        "/imports/remembered/forget", data={"name": "my count", "kind": "stock"}, headers=PAGE
    )
    assert "my count" not in forget.text
    assert client.post("/imports/remembered/forget", data={"name": "x"}, headers=PAGE).status_code == 404


def test_name_to_remember_by_must_be_one(client: TestClient):
    done = load_prices(client, PRICES)
    for name in ("", " ", "a" * 61, "a\u202eb"):
        assert remember(client, done, name).status_code == 422


def test_folder_has_no_columns_to_remember(client: TestClient, demo_engine: Engine):
    batch = count_rows(demo_engine, "SELECT batch FROM import_batch")
    assert "Remember" not in client.get(f"/imports/{batch}", headers=PAGE).text
    answer = client.post(f"/imports/{batch}/remember", data={"name": "x"}, headers=PAGE)
    assert "was loaded as a folder" in say(answer)


def test_unreadable_file_is_explained_before_anything_is_asked(client: TestClient):
    latin = "Hersteller;Teilenummer;Bezeichnung\nWren;K-1;Käfig 6203\n".encode("cp1252")
    page = upload(client, "list.csv", latin)
    said = say(page)
    assert "It cannot be read as it is" in said
    assert "encoding" in said
    assert "Käfig" in said  # how each encoding would read it
    address = re.search(r'<form action="(/imports/new/[^"]+)" method="post">', page.text)
    assert address is not None
    # With the encoding named, the headings say what it is.
    page = client.post(address[1], data={"kind": "", "form-encoding": "cp1252", "go": "look"}, headers=PAGE)
    assert read_fields(page.text)["kind"] == "parts"
    said = say(upload(client, "list.csv", "Zork;Ref;Qty there\nQuarrox;QX99259G;3\n"))
    assert "The headings do not say what the list is" in said


def test_stopped_run_says_so_and_may_be_begun_again(client: TestClient, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("api.waiting_import.WAIT_SECONDS", 0.5)
    page = upload(client, "stock.csv", COUNT)
    token = re.search(r"/imports/new/([\w-]{22})", page.text)
    assert token is not None
    desk = client.app.state.imports  # type: ignore[attr-defined]
    runner = client.app.state.import_runner  # type: ignore[attr-defined]
    runner._loads.acquire()  # another import goes first
    desk.start(desk.read(token[1]), dry_run=True, keeps_good_rows=False)
    assert client.post(f"/imports/new/{token[1]}/discard", headers=PAGE).status_code == 409
    stopped = client.post(f"/imports/new/{token[1]}/stop", headers=PAGE)
    assert "It was stopped; nothing was written." in say(stopped)
    runner._loads.release()
    assert "1 would be added" in say(preview(client, client.get(f"/imports/new/{token[1]}", headers=PAGE)))
