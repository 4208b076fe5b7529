"""A shop's own small catalogue with awkward names and gaps, asked on the command line and over HTTP."""

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote, unquote

import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient

from api.app import create_app
from api.cli import group
from importers.load import load_catalogue
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

CATALOGUE = {
    "engines": (
        "engine,family,name\nrail-1,rail,Rail kurz\n"
        "rail/2,rail,Rail lang\nrail-1/card,rail,\nr/2?x#y%2f/,rail,\n/rail//3,rail,\n"
    ),
    "belt_needs": "engine,length_mm,top_width_mm,angle_deg,top_width_limit_mm\nrail-1,810,19.5,28,18\n",
    "fasteners": (
        "engine,position,thread,hand,drive,across_flats_mm,torque_nm\n"
        "rail-1,bell_nut,M10x1.25 LH,,hex,17,9\n"
        "rail-1,clutch_nut,M28x1,,slotted_ring,41,\n"
    ),
    "parts": (
        "maker,part_number,part_type,length_mm,top_width_mm,angle_deg\n"
        "Kolo/M\u0159\u00ed\u017eka,K/7 3,drive_belt,811,19.5,28\n"
        "Kolo,M/1,drive_belt,815,19.5,28\n"
    ),
    "jobs": "job,title\nnuts,Both nuts\n",
    "job_steps": (
        "job,step,text,position,fastener\nnuts,1,Undo it.,bell_nut,1\nnuts,2,Undo it.,clutch_nut,1\n"
    ),
}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("foreign")
    for name, text in CATALOGUE.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    path = folder / "foreign.db"
    engine = open_database(f"sqlite:///{path}")
    upgrade_schema(engine)
    with open_writer(engine) as session:
        assert not load_catalogue(session, folder, now=datetime(2026, 11, 20, tzinfo=UTC)).has_problems
    engine.dispose()
    return path


@pytest.fixture
def client(database: Path) -> Iterator[TestClient]:
    engine = open_database(f"sqlite:///{database}")
    with TestClient(create_app(engine), base_url="http://127.0.0.1") as client:
        yield client
    engine.dispose()


def run(database: Path, *words: str):
    return json.loads(CliRunner().invoke(group, [*words, "--json", "--db", str(database)]).output)


def walk(value):
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name, inner
            yield from walk(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from walk(inner)


@pytest.mark.parametrize(
    ("words", "path"),
    [
        (("fit", "rail-1", "810-19.5-28"), "/api/fit?engine=rail-1&asked=810-19.5-28"),
        (("fit", "rail-1", "M28x1", "--position", "clutch_nut"),
         "/api/fit?engine=rail-1&asked=M28x1&position=clutch_nut"),
        (("alternatives", "rail-1", "drive_belt"), "/api/engines/rail-1/alternatives?position=drive_belt"),
        (("card", "rail-1", "nuts"), "/api/engines/rail-1/card?job=nuts"),
        (("gauge", "rail-1", "drive_belt", "top_width", "19"),
         "/api/engines/rail-1/gauge?position=drive_belt&quantity=top_width&value=19"),
        (("tell-apart", "rail-1"), "/api/tell-apart?engine=rail-1"),
    ],
)  # fmt: skip
def test_command_and_http_give_the_same_answer_without_empty_sources(client, database, words, path):
    answer = client.get(path).json()
    assert run(database, *words) == answer
    assert [value for name, value in walk(answer) if name == "source" and value == ""] == []


@pytest.mark.parametrize("pages", ["/api/parts", "/parts", "/stock"])
def test_maker_and_number_may_both_hold_slashes(client, pages):
    maker = quote("Kolo/M\u0159\u00ed\u017eka", safe="")
    for number in ("K%2F7%203", "K/7%203"):
        answer = client.get(f"{pages}/{maker}/{number}")
        assert answer.status_code == 200
        assert "K/7 3" in answer.text
    assert client.get(f"{pages}/Kolo/M%2F1").status_code == 200
    assert client.get(f"{pages}/Kolo/M\u0159\u00ed\u017eka/K/7 3").status_code == 404


SLASHED = ["rail/2", "rail-1/card", "r/2?x#y%2f/", "/rail//3"]


@pytest.mark.parametrize("engine", SLASHED)
def test_engine_code_may_hold_slashes(client, engine):
    code = quote(engine, safe="")
    assert client.get(f"/api/engines/{code}").json()["engine"] == engine
    page = client.get(f"/engines/{code}")
    assert (page.status_code, f'href="/api/engines/{code}"' in page.text) == (200, True)
    asked = {
        "card": {"job": "nuts"},
        "alternatives": {"position": "drive_belt"},
        "gauge": {"position": "drive_belt", "quantity": "top_width", "value": "19"},
        "rollers": {"mass": [7, 7, 7]},
    }
    for room, params in asked.items():
        answer = client.get(f"/api/engines/{code}/{room}", params=params)
        assert (room, answer.json().get("engine")) == (room, engine)


def test_links_to_engines_quote_their_codes(client):
    listed = re.findall(r'href="/engines/([^"?]+)"', client.get("/engines").text)
    assert sorted(map(unquote, listed)) == sorted([*SLASHED, "rail-1"])
    assert not any("/" in code for code in listed)
    for path in ("/tell-apart", "/?engine=rail/2", "/card?engine=rail/2&job=nuts"):
        assert "/engines/rail%2F2" in client.get(path).text


def test_unquoted_slashes_of_an_engine_code_are_taken_where_they_are_clear(client):
    assert client.get("/api/engines/rail/2").json()["engine"] == "rail/2"
    assert client.get("/api/engines/rail/2/card?job=nuts").json()["engine"] == "rail/2"
    assert client.get("/engines/rail/2").status_code == 200
    assert client.get("/api/engines/rail/4").status_code == 404
    assert client.get("/api/engines/").status_code == 404


def test_length_kind_behind_the_whole_size_is_heeded(client):
    asked = {"engine": "rail-1", "asked": "810-19.5-28 Lp"}
    verdict = client.get("/api/fit", params=asked).json()
    assert (verdict["outcome"], verdict["asked"]["size"]["length_kind"]) == ("not_known", "pitch")


def test_left_hand_thread_needs_no_hand_and_a_torque_converts_to_two_places(client):
    bell_nut, ring_nut = client.get("/api/engines/rail-1").json()["fasteners"]
    assert (bell_nut["hand"], ring_nut["hand"]) == ("left", "unknown")
    assert bell_nut["torque_lbf_ft"] == 6.64  # 9 N.m x 0.737562
    (card_nut, _) = client.get("/api/engines/rail-1/card", params={"job": "nuts"}).json()["fasteners"]
    assert (card_nut["hand"], card_nut["torque_lbf_ft"]) == ("left", 6.64)
