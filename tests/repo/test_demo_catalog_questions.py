"""The questions of the demo catalogue's README get the answers that stand beside them.

The expected answers were worked out by hand from the sizes in the sheets and the documented rules.
"""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from importers.load import load_catalogue
from kb.database import open_reader, open_writer
from kb.lookups.fit import FitQuestion, does_part_fit

FOLDER = Path(__file__).resolve().parents[2] / "demo_catalog"
OUTCOMES = {
    "fits with change": "fits_with_change",
    "fits": "fits",
    "does not fit": "does_not_fit",
    "not known": "not_known",
}
QUESTION = re.compile(
    r"^\| `counterhand fit (?P<engine>\S+) (?:\"(?P<part>[^\"]+)\"|(?P<size>\S+))"
    r"(?: --position (?P<position>\S+))?` "
    rf"\| (?P<outcome>{'|'.join(OUTCOMES)})"
    r"(?:, (?P<certainty>sure|probable))?(?P<conflict>, with conflict)?: ",
    re.MULTILINE,
)
README = (FOLDER / "README.md").read_text(encoding="utf-8")
QUESTIONS = [found.groupdict() for found in QUESTION.finditer(README)]


def test_every_fit_question_of_the_readme_is_read() -> None:
    assert len(QUESTIONS) == README.count("| `counterhand fit ") >= 15
    assert {question["outcome"] for question in QUESTIONS} == set(OUTCOMES)


@pytest.mark.parametrize(
    "asked", QUESTIONS, ids=lambda asked: f"{asked['engine']} {asked['part'] or asked['size']}"
)
def test_answer_is_the_one_that_the_readme_states(demo_engine: Engine, asked: dict[str, str]) -> None:
    question = FitQuestion(asked["engine"], asked["part"] or asked["size"], asked["position"])
    with open_reader(demo_engine) as session:
        verdict = does_part_fit(session, question)
    assert verdict.outcome == OUTCOMES[asked["outcome"]]
    assert verdict.conflict == bool(asked["conflict"])
    if asked["certainty"]:
        assert verdict.certainty == asked["certainty"]


def test_number_of_two_makers_is_not_known_without_the_maker(demo_engine: Engine) -> None:
    with open_reader(demo_engine) as session:
        verdict = does_part_fit(session, FitQuestion("plover-50-s", "55 120 7"))
    assert verdict.outcome == "not_known"
    text = " ".join(reason.text for reason in verdict.reasons)
    assert "Dulcamar" in text
    assert "Varrowby" in text


def test_second_load_refuses_and_changes_nothing(sqlite_engine: Engine) -> None:
    now = datetime(2026, 11, 20, tzinfo=UTC)
    with open_writer(sqlite_engine) as session:
        first = load_catalogue(session, FOLDER, now=now)
    with open_writer(sqlite_engine) as session:
        second = load_catalogue(session, FOLDER, now=now)
    assert sum(file.refused for file in [*first.files, *second.files]) == 0
    assert sum(file.added for file in first.files) > 11_000
    assert [file.file for file in second.files if file.added or file.changed] == []
