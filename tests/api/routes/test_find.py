"""Look-up and reading over HTTP."""

import gc
import time

import pytest
from fastapi.testclient import TestClient

from api.answers.find import FIND_EXAMPLE

HARD = [
    "",
    " ",
    "\x00\x01\x02",
    "' OR 1=1 --",
    'belt AND NOT (743 OR *) NEAR/3 "x" ^ col:val',
    "%_%_%",
    "ремень 743 ベルト ７４３ 皮带 حزام",
    "\U0001f9a6" * 500,
    "seven eighty eight by " * 200,
    "a1b2c3d4 " * 450,
    "x" * 4_000,
    "belt 743x20x30 " * 300,
]


def find(client, text, **more):
    answer = client.get("/api/find", params={"q": text, **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_example_in_the_document_is_the_answer_that_is_given(client: TestClient):
    answer = find(client, "LP-669-18-30")
    example = FIND_EXAMPLE["results"][0]
    shown = {name: example[name] for name in ("maker", "part_number", "description", "on_hand", "kind")}
    assert answer["results"][0].items() >= shown.items()
    assert find(client, "belt 669 18 30")["read_as"]["text"] == FIND_EXAMPLE["read_as"]["text"]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("belt 743 20 30", "belt"),
        ("rollers 16x13 6.5 g", "roller"),
        ("nut M10x1.25", "thread"),
        ("1E38QMA", "engine"),
        ("plover-50-s", "engine"),
        ("LP-669-18-30", "part_number"),
        ("2301273122306", "gtin"),
        ("Larrimer Sorrelle", "text"),
    ],
)
def test_an_answer_says_what_kind_of_question_it_was(client: TestClient, text, kind):
    assert find(client, text)["read_as"]["kind"] == kind


def test_sizes_are_read_into_fields(client: TestClient):
    read_as = find(client, "transmission belt 743 x 20 x 30")["read_as"]
    assert read_as["text"] == "belt, 743 × 20 × 30"
    assert (read_as["length_mm"], read_as["width_mm"], read_as["angle_deg"]) == (743, 20, 30)


def test_a_size_that_is_not_stocked_is_not_sure_and_near_sizes_stand_apart(client: TestClient):
    answer = find(client, "vario belt 670 18 30")
    assert answer["message"].startswith("Nothing sure")
    assert {item["certainty"] for item in answer["results"]} == {"unsure"}
    assert "670" in answer["results"][0]["differs"]
    assert answer["near_sizes"]
    assert not any(item["equal"] for item in answer["near_sizes"])


def test_a_stamp_that_two_engines_share_settles_neither(client: TestClient):
    results = find(client, "1E38QMA")["results"]
    assert [item["engine"] for item in results] == ["plover-50-s", "plover-50-l"]
    assert {item["certainty"] for item in results} == {"probable"}


def test_a_vehicle_leads_to_its_engine(client: TestClient):
    first = find(client, "larimer sorrele 50")["results"][0]
    assert (first["kind"], first["engine"]) == ("engine", "plover-50-s")


def test_a_scan_with_its_prefix_finds_the_part(client: TestClient):
    answer = find(client, "]E02301273122306")
    assert answer["results"][0]["part_number"] == "LP-669-18-30"
    assert answer["results"][0]["certainty"] == "sure"


def test_limit_is_kept(client: TestClient):
    assert len(find(client, "belt", limit=3)["results"]) == 3
    assert client.get("/api/find", params={"q": "belt", "limit": 0}).status_code == 422


@pytest.mark.parametrize("text", HARD, ids=range(len(HARD)))
def test_hard_input_is_no_error_and_quick(client: TestClient, text):
    find(client, "warm up")
    gc.collect()
    gc.disable()  # what other tests left behind is not this question's work
    try:
        start = time.process_time()
        answer = find(client, text)
        assert time.process_time() - start < 0.2
    finally:
        gc.enable()
    assert not any(item["certainty"] == "sure" for item in answer["results"]) or "743" in text
    for address in ("/find", "/find/results", "/find/pick", "/read"):
        name = {"/find/pick": "asked", "/read": "text"}.get(address, "q")
        assert client.get(address, params={name: text}).status_code == 200


def test_a_code_is_read(client: TestClient):
    answer = client.get("/api/read", params={"text": "743-20-30"}).json()
    assert answer == {"ok": True, "kind": "belt", "length_mm": 743, "width_mm": 20, "angle_deg": 30}


def test_a_note_is_taken_apart(client: TestClient):
    note = "belt says 743 20 30, a code stamped on the case, rollers 16x13 7 g"
    answer = client.get("/api/read", params={"text": note}).json()
    assert answer["ok"] is False
    assert [(code["text"], code["kind"]) for code in answer["codes"]] == [
        ("743 20 30", "belt"),
        ("16x13 7 g", "roller"),
    ]


def test_a_kind_that_is_given_is_the_only_one_tried(client: TestClient):
    assert client.get("/api/read", params={"text": "M28x1 LH", "as": "thread"}).json()["hand"] == "left"
    refused = client.get("/api/read", params={"text": "M28x1", "as": "spoon"})
    assert refused.status_code == 422
    assert "spoon" in refused.json()["detail"]
