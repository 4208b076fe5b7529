"""Parts asked for by the engine's stamp or the vehicle: found by what is listed for it, on both databases."""

import pytest

from kb.database import open_reader
from kb.lookups.search.analyser import open_store
from kb.lookups.search.find import find_matches
from kb.terms import Certainty

FILES = {
    "sources": "source,kind,title\nman,manual,Service book\n",
    "engines": "engine,family,name,designation,source\n"
    "teal-50,teal,Teal 50,DU4-50T,man\nteal-80,teal,Teal 80,DU4-80T,man\n",
    "vehicles": "make,model,engine,source\nGrebel,Ottermoor 50,teal-50,man\nGrebel,Fenwick 80,teal-80,man\n",
    "parts": "maker,part_number,part_type,description,source\n"
    "Beck,B-1,clutch_bell,Clutch drum 107,man\n"
    "Beck,B-2,clutch_bell,Clutch drum 107 vented,man\n"
    "Beck,B-3,clutch_bell,Clutch drum 112,man\n"
    "Beck,B-4,clutch_shoes,Shoes 107,man\n",
    "fits": "maker,part_number,engine,position,outcome,source\n"
    "Beck,B-2,teal-50,clutch_bell,fits_with_change,man\n"
    "Beck,B-1,teal-50,clutch_bell,fits,man\n"
    "Beck,B-3,teal-50,clutch_bell,does_not_fit,man\n"
    "Beck,B-3,teal-80,clutch_bell,fits,man\n"
    "Beck,B-4,teal-50,clutch_shoes,fits,man\n",
}


@pytest.fixture
def shop(database, load_files):
    report = load_files(database, **FILES)
    assert not report.has_problems, report.as_json()
    return database


@pytest.mark.parametrize(
    "asked",
    [
        "DU4-50T clutch bell",
        "clutch drum for a Grebel Ottermoor",
        "bell for the otermoor 50",
        "teal 50 clutch drum",
    ],
)
def test_parts_listed_for_the_engine_come_first_and_are_never_sure(shop, asked):
    with open_reader(shop) as session:
        answer = find_matches(session, asked)
    parts = [found for found in answer.results if found.row.kind == "part"]
    assert [found.row.part_number for found in parts[:2]] == ["B-1", "B-2"]
    assert {found.certainty for found in parts[:2]} == {Certainty.PROBABLE}
    assert parts[0].why == "Listed as fitting teal-50; ask for its fit before it is sold."
    assert parts[1].why == "Listed as fitting teal-50 with a change; ask for its fit before it is sold."
    assert "B-3" not in [found.row.part_number for found in parts[:2]]
    assert answer.read_as.fields["engines"] == ["teal-50"]


def test_number_of_a_vehicle_is_no_size_of_the_part(shop, load_files):
    bell = "Beck,B-5,clutch_bell,Clutch drum 107 for 50 cc"
    load_files(shop, parts=f"maker,part_number,part_type,description\n{bell}\n")
    with open_reader(shop) as session:
        answer = find_matches(session, "clutch drum 107 for an Ottermoor 50")
    found = {one.row.part_number: (one.certainty, one.differs) for one in answer.results}
    assert answer.read_as.text == "clutch bell, 107, for teal-50"
    assert found["B-1"] == found["B-5"] == (Certainty.SURE, ())


def test_an_engine_without_a_listed_part_of_that_type_says_nothing_of_listings(shop):
    with open_reader(shop) as session:
        answer = find_matches(session, "clutch shoes for a Fenwick 80")
    assert not any(found.why.startswith("Listed") for found in answer.results)


def test_an_engine_alone_is_answered_by_the_engine(shop):
    with open_reader(shop) as session:
        answer = find_matches(session, "Ottermoor 50")
    assert answer.results[0].row.engine == "teal-50"


def test_engines_are_found_however_many_parts_share_a_word_of_their_name(shop, load_files):
    numbered = "\n".join(f"Beck,T-{number},other,Sticker teal {number}" for number in range(40))
    load_files(shop, parts=f"maker,part_number,part_type,description\n{numbered}\n")
    with open_reader(shop) as session:
        store = open_store(session)
        found = [
            store.list_engines_with(tokens) for tokens in (["wteal"], ["wfenwick", "cteal50"], ["wrear"], [])
        ]
    assert [[code for _, code, _ in rows] for rows in found] == [
        ["teal-50", "teal-80"],
        ["teal-50", "teal-80"],
        [],
        [],
    ]


def test_an_engine_is_found_by_a_word_of_its_code_alone(database, load_files):
    report = load_files(database, engines="engine\ntern-80\nkäuz/x 1\n")
    assert not report.has_problems
    with open_reader(database) as session:
        for asked, engine in (("tern", "tern-80"), ("käuz", "käuz/x 1")):
            assert [found.row.engine for found in find_matches(session, asked, 5).results] == [engine]
