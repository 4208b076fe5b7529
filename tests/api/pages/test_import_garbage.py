"""Good files with bytes changed, and forms with anything in them, sent through the import pages.

Whatever comes: never an error inside, and the ledger of imports holds each file wholly or not at all.
"""

import io
import re

import openpyxl
import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, text

PAGE = {"accept": "text/html"}
QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
ROWS = (
    ("maker", "part_number", "part_type", "length_mm", "gtin"),
    ("Wren-Test", "B-1-T", "drive_belt", "743", "4006381333931"),
    ("Brackenloop", "LP 669 18 30", "drive_belt", "669", ""),
    ("Wren-Test", "N-1-T", "nut", "", ""),
)
CSV = "\n".join(";".join(row) for row in ROWS).encode()
CHANGES = st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), min_size=1, max_size=6)


def build_workbook() -> bytes:
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


XLSX = build_workbook()


@pytest.fixture(autouse=True)
def jobs_within_this_process(client: TestClient) -> None:
    client.app.state.import_runner.runs_apart = False  # type: ignore[attr-defined]


def change(content: bytes, changes: list[tuple[int, int]]) -> bytes:
    changed = bytearray(content)
    for place, byte in changes:
        changed[place % len(changed)] = byte
    return bytes(changed)


def send(client: TestClient, address: str, **said):
    answer = client.post(address, headers=PAGE, **said)
    assert answer.status_code < 500, answer.text
    assert "went wrong inside" not in answer.text
    assert "could not be looked at" not in answer.text
    return answer


def go_through(client: TestClient, name: str, content: bytes) -> None:
    page = send(client, "/imports", files={"file": (name, content)})
    address = re.search(r"/imports/new/[\w-]{22}", page.text)
    assert address is not None
    said = {"kind": "parts", "value-source": "garbage", "go": "preview"}
    page = send(client, address[0], data=said)
    if "/load" in page.text:
        send(client, f"{address[0]}/load", data={"keep": "true"})


def check_whole(engine: Engine) -> None:
    """Every part of the garbage belongs to a batch that is there with its report."""
    with engine.connect() as connection:
        lost = connection.execute(
            text(
                "SELECT count(*) FROM part_record r LEFT JOIN import_batch b ON b.id = r.batch_id"
                " WHERE b.id IS NULL OR b.report_json = '{}'"
            )
        ).scalar_one()
        assert lost == 0
        assert connection.execute(text("PRAGMA foreign_key_check")).first() is None


@settings(max_examples=25, deadline=None, suppress_health_check=QUIET)
@given(changes=CHANGES)
def test_changed_bytes_of_a_table_never_break_the_pages(
    client: TestClient, demo_engine: Engine, changes: list[tuple[int, int]]
):
    go_through(client, "list.csv", change(CSV, changes))
    check_whole(demo_engine)


@settings(max_examples=6, deadline=None, suppress_health_check=QUIET)
@given(changes=CHANGES)
def test_changed_bytes_of_a_workbook_never_break_the_pages(
    client: TestClient, demo_engine: Engine, changes: list[tuple[int, int]]
):
    go_through(client, "list.xlsx", change(XLSX, changes))
    check_whole(demo_engine)


NAMES = st.sampled_from(["kind", "go", "form-encoding", "form-delimiter", "form-decimal", "form-sheet"])
NAMES |= st.sampled_from(["column-0", "column-1", "column-99", "value-source", "value-zork", "all", "name"])
NAMES |= st.sampled_from(["decision-B-1-T", "keep"])
WORDS = st.sampled_from(["parts", "offers", "preview", "?", "", "utf-8", "maker", "same", "same as x"])


@settings(max_examples=25, deadline=None, suppress_health_check=QUIET)
@given(fields=st.dictionaries(NAMES, WORDS | st.text(max_size=8), max_size=6))
def test_anything_in_the_forms_is_an_answer(client: TestClient, fields: dict[str, str]):
    page = send(client, "/imports", files={"file": ("list.csv", CSV)})
    address = re.search(r"/imports/new/[\w-]{22}", page.text)
    assert address is not None
    fields = {name: word.encode("utf-8", "replace").decode() for name, word in fields.items()}
    for step in ("", "/decisions", "/remembered", "/load", "/stop", "/discard"):
        send(client, address[0] + step, data=fields)
