"""What PostgreSQL reads ahead is what it would answer step by step, and what SQLite answers.

The expected answers come from a database that reads nothing ahead: SQLite, and PostgreSQL asked for the
first time in a process, when no analyser is there yet to read the question with.
"""

import pytest

from kb.database import open_reader
from kb.lookups.search import ahead_postgres, store_postgres
from kb.lookups.search.ahead_postgres import MOST_BY_NUMBER, MOST_SHOWN
from kb.lookups.search.analyser import _kept
from kb.lookups.search.find import find_matches

SIZES = "".join(
    f"Béluna,WK-4471-{number:03d},other,drive belt {700 + number} x 18 x 30\n" for number in range(100)
)
SHOES = "".join(f"Tarvik,QP {number:02d}.886,other,clutch shoes 107 mm\n" for number in range(30))
FILES = {
    "parts": "maker,part_number,part_type,description\n"
    + SIZES
    + SHOES
    + "Tarvik,O0I1-5S,other,variator nut M10x1.25\nTarvik,001155,other,cable 1840 mm\n"
    + "Tarvik,VQ50-77X,drive_belt,belt 669 x 18 x 30\n",
    "engines": "engine,family,designation\nvq50-77,vq50,VQ50-77\n",
    "vehicles": "make,model,engine\nSorrelle,Heron 50,vq50-77\n",
    "fits": "maker,part_number,engine,position,outcome\nTarvik,VQ50-77X,vq50-77,drive_belt,fits\n",
}
QUESTIONS = {
    "one number": "WK-4471-050",
    "the beginning of more numbers than are read ahead": "WK 4471",
    "the beginning of some numbers": "WK-4471-01",
    "look-alike characters": "OOI1-SS",
    "a number that is the look-alike of another": "O01155",
    "one character wrong": "WK-4871-050",
    "one character wrong where many keys begin alike": "WK-44719-55",
    "characters swapped": "VQ5077-X",
    "the end of a number": "4471-077",
    "size and kind": "drive belt 733 18 30",
    "more rows than are shown": "clutch shoes 107 mm",
    "nothing has all of it": "clutch shoes 107 mm 12 V",
    "number within words": "the old one says WK-4471-012 I think",
    "engine by its stamp": "VQ50-77 drive belt",
    "vehicle by its name": "belt for a Sorrelle Heron 50",
    "several articles": "drive belt 733 18 30 and clutch shoes 107 mm",
    "nothing of it": "ZZ-99999-00",
    "no letter and no figure": "%_'\"",
    "nothing": "",
}


def ask_all(engine):
    with open_reader(engine) as session:
        return {kind: find_matches(session, text, 50).as_json() for kind, text in QUESTIONS.items()}


@pytest.fixture
def answers(sqlite_engine, postgres_engine, load_files):
    """Answers of SQLite, and of PostgreSQL read ahead."""
    for engine in (sqlite_engine, postgres_engine):
        assert not load_files(engine, **FILES).has_problems
    ask_all(postgres_engine)
    return ask_all(sqlite_engine), ask_all(postgres_engine)


def test_both_databases_answer_alike(answers):
    on_sqlite, on_postgres = answers
    for kind in QUESTIONS:
        assert on_postgres[kind] == on_sqlite[kind], kind


def test_the_questions_reach_past_what_is_read_ahead(answers):
    _, on_postgres = answers
    assert len(SIZES.splitlines()) > MOST_BY_NUMBER
    assert len(on_postgres["the beginning of more numbers than are read ahead"]["results"]) == 50
    assert len(on_postgres["more rows than are shown"]["results"]) == 30 > MOST_SHOWN
    assert on_postgres["engine by its stamp"]["results"][0]["part_number"] == "VQ50-77X"
    assert on_postgres["look-alike characters"]["results"][0]["certainty"] == "sure"
    assert on_postgres["one character wrong"]["results"][0]["part_number"] == "WK-4471-050"


def test_answers_are_the_same_read_ahead_or_step_by_step(postgres_engine, load_files):
    assert not load_files(postgres_engine, **FILES).has_problems
    step_by_step = {}
    for kind, text in QUESTIONS.items():
        _kept.pop(postgres_engine.pool, None)  # as in a process that has not been asked yet
        with open_reader(postgres_engine) as session:
            step_by_step[kind] = find_matches(session, text, 50).as_json()
    assert ask_all(postgres_engine) == step_by_step


def test_most_questions_are_one_statement(postgres_engine, load_files, monkeypatch):
    assert not load_files(postgres_engine, **FILES).has_problems
    ask_all(postgres_engine)
    asked = []
    execute = store_postgres.PostgresStore.execute

    def count(self, statement, parameters):
        asked.append(statement)
        return execute(self, statement, parameters)

    monkeypatch.setattr(store_postgres.PostgresStore, "execute", count)
    counts = {}
    with open_reader(postgres_engine) as session:
        find_matches(session, "warm", 10)
        for kind, text in QUESTIONS.items():
            asked.clear()
            find_matches(session, text, 10)
            counts[kind] = len(asked)
    for kind in ("one number", "look-alike characters", "one character wrong", "size and kind"):
        assert counts[kind] == 1, kind
    assert ahead_postgres.SELECT_VERSIONS in asked  # nothing was asked last, and only the counters read
