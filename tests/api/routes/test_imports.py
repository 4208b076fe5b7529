"""Sheets sent over HTTP: loaded, refused row by row, reported, taken back; hostile ones are refused."""

import io
import json
import zipfile

import openpyxl
import pytest

LIST = (
    "Brand;Part No.;Description\n"
    "Wren-Test;B-743-T;CVT belt 743x20x30\n"
    "Wren-Test;R-1-T;Roller set 16x13 6,5g\n"
)
BAD = "maker,part_number,part_type,length_mm\nWren-Test,B-1,drive_belt,NaN\nWren-Test,B-2,drive_belt,743\n"


def send(client, content, name="list.csv", *, headers=None, **fields):
    files = {"file": (name, content.encode() if isinstance(content, str) else content)}
    return client.post("/api/imports", files=files, data=fields, headers=headers or {})


def workbook(rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_loaded_sheet_is_reported_and_taken_back(client):
    answer = send(client, LIST, kind="parts")
    assert answer.status_code == 201, answer.text
    batch = answer.json()["batch"]
    assert answer.headers["Location"] == f"/api/imports/{batch}"
    assert answer.json()["files"][0]["added"] == 2

    report = client.get(f"/api/imports/{batch}").json()
    assert (report["file_name"], report["state"], report["files"][0]["added"]) == ("list.csv", "loaded", 2)
    assert client.get("/api/imports").json()["imports"][0]["batch"] == batch
    assert client.get("/api/parts/Wren-Test/B-743-T").status_code == 200

    undone = client.delete(f"/api/imports/{batch}")
    assert (undone.status_code, undone.json()["removed"]["part"]) == (200, 2)
    assert client.get("/api/parts/Wren-Test/B-743-T").status_code == 404
    assert client.delete(f"/api/imports/{batch}").status_code == 409
    assert client.get("/api/imports/nonesuch").status_code == 404


def test_same_sheet_again_changes_nothing(client):
    assert send(client, LIST, kind="parts").status_code == 201
    again = send(client, LIST, kind="parts")
    assert (again.status_code, again.json()["batch"], again.json()["files"][0]["unchanged"]) == (200, None, 2)


def test_dry_run_writes_nothing(client):
    answer = send(client, LIST, kind="parts", dry_run="true")
    assert (answer.status_code, answer.json()["batch"], answer.json()["dry_run"]) == (200, None, True)
    assert [change["action"] for change in answer.json()["files"][0]["changes"]] == ["added", "added"]
    assert client.get("/api/parts/Wren-Test/B-743-T").status_code == 404


def test_refused_rows_are_listed_as_problem_details(client):
    answer = send(client, BAD, kind="parts")
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")
    body = answer.json()
    assert body["type"] == "urn:counterhand:problem:import-refused"
    assert body["error_count"] == 1
    [error] = body["errors"]
    assert (error["row"], error["column"], error["found"], error["code"]) == (2, "length_mm", "NaN", "cell")
    assert client.get("/api/parts/Wren-Test/B-2").status_code == 404


def test_good_rows_are_kept_when_asked(client):
    answer = send(client, BAD, kind="parts", keep_good_rows="true")
    assert answer.status_code == 201
    [file] = client.get(answer.headers["Location"]).json()["files"]
    assert (file["added"], file["refused"], file["problems"][0]["line"]) == (1, 1, 2)


def test_repeated_key_gets_the_first_answer(client):
    first = send(client, LIST, kind="parts", headers={"Idempotency-Key": "one"})
    again = send(client, LIST, kind="parts", headers={"Idempotency-Key": "one"})
    assert (first.status_code, again.status_code, again.json()) == (201, 201, first.json())
    other = send(client, BAD, kind="parts", headers={"Idempotency-Key": "one"})
    assert other.status_code == 422


def test_inspection_proposes_columns(client):
    files = {"file": ("list.csv", LIST.encode())}
    answer = client.post("/api/imports/inspect", files=files)
    assert answer.status_code == 200
    names = ("heading", "column", "certainty")
    columns = [tuple(heading[name] for name in names) for heading in answer.json()["headings"]]
    assert columns == [
        ("Brand", "maker", "sure"),
        ("Part No.", "part_number", "sure"),
        ("Description", "description", "sure"),
    ]
    assert 'kind = "parts"' in answer.json()["mapping"]


def test_mapping_is_used_and_checked(client):
    said = {"kind": "parts", "columns": {"Zork": "part_number"}, "values": {"maker": "Wren-Test"}}
    mapping = json.dumps(said)
    good = send(client, "Zork;part type\nB-9-T;nut\n", mapping=mapping)
    assert good.status_code == 201, good.text
    assert send(client, LIST, mapping='kind = "parts"\nzork = 1\n').status_code == 422
    assert send(client, LIST, mapping="kind = [").status_code == 422
    unknown = send(client, LIST, kind="offer").json()
    assert unknown["field"] == "kind"
    assert "write one of sources, engines, features" in unknown["detail"]
    assert unknown["detail"].endswith("trade_names, symptoms, symptom_causes; the nearest is 'offers'.")


@pytest.mark.parametrize("name", ["../../etc/list.csv", "C:\\list.csv", "list\u202ecsv.csv", "a" * 250])
def test_odd_names_are_shown_and_never_used(client, name):
    answer = send(client, LIST, name, kind="parts")
    assert answer.status_code in (201, 422)
    assert answer.status_code == 422 or "/" not in answer.json()["files"][0]["file"]


def bomb():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
        archive.writestr("xl/worksheets/sheet1.xml", b"<c>" + b" " * 300_000_000)
    return out.getvalue()


def patched(member, old, new):
    source = zipfile.ZipFile(io.BytesIO(workbook([["maker", "part_number"], ["Wren", "B"]])))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in source.namelist():
            content = source.read(name)
            archive.writestr(name, content.replace(old, new) if name == member else content)
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
ENTITIES = b'<!DOCTYPE a [<!ENTITY b "c">]>'
HOSTILE = {
    "zip bomb.xlsx": (bomb, "unpacks"),
    "entities.xlsx": (lambda: patched(SHEET, b"<worksheet", ENTITIES + b"<worksheet"), "document type"),
    "far row.xlsx": (lambda: patched(SHEET, b'<row r="2"', b'<row r="1048576"'), "far below"),
    "far column.xlsx": (lambda: patched(SHEET, b'r="B2"', b'r="XFD2"'), "column XFD"),
    "old.xlsx": (lambda: b"\xd0\xcf\x11\xe0" + b"\0" * 600, "password"),
    "not.xlsx": (lambda: b"maker,part_number\n", "not a workbook"),
    "huge cell.csv": (lambda: b"maker,part_number,part_type\nWren," + b"x" * 20_000_000, "no end"),
    "many columns.csv": (lambda: b"maker," * 5000 + b"part_number\n", "at most 200"),
    "open quote.csv": (
        lambda: b'maker,part_number,part_type\nWren,"B,nut\n' + b"Wren,B,nut\n" * 100,
        "quotation",
    ),
    "page.csv": (lambda: b"<html><table><tr><td>maker</td></tr></table>", "web page"),
    "unknown.pdf": (lambda: b"%PDF-1.4", "not read"),
    "empty.csv": (lambda: b"", "empty"),
    "zeros.csv": (lambda: b"\0" * 5000, "encoding"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused_with_what_to_do(client, name):
    build, says = HOSTILE[name]
    answer = send(client, build(), name, kind="parts")
    assert answer.status_code == 422, answer.text
    assert says in answer.json()["detail"]


def test_body_above_the_limit_is_refused(client):
    assert send(client, b"x" * (26 * 1024 * 1024), kind="parts").status_code == 413
