"""Questions with known answers on a catalogue of 400 rows.

Source: rows, questions and limits come from a measured study made before this code (see README.md here).
"""

from collections import defaultdict

import pytest

from kb.rules.match.look_up import look_up
from kb.terms import Certainty


@pytest.fixture(scope="module")
def answers(catalogue, questions):
    """Each question with its answer and the part numbers that are right."""
    store, analyser = catalogue
    return [
        (
            question,
            look_up(store, analyser.analyse_question(question["query"])),
            set(filter(None, question["expected_part_nos"].split("|"))),
        )
        for question in questions
    ]


def first_is_right(answer, right) -> bool:
    return bool(answer.matches) and answer.matches[0].candidate.part_number in right


def test_all_rows_and_questions_are_there(catalogue, questions):
    assert len(catalogue[0]) == 400
    assert len(questions) == 153


def test_first_answer_is_right_for_97_of_100(answers):
    hits = [first_is_right(answer, right) for _, answer, right in answers if right]
    assert len(hits) == 144
    assert sum(hits) / len(hits) >= 0.97


def test_right_rows_stand_among_the_first_ten(answers):
    shares = []
    for _, answer, right in answers:
        if right:
            shown = {match.candidate.part_number for match in answer.matches[:10]}
            shares.append(len(right & shown) / min(10, len(right)))
    assert sum(shares) / len(shares) >= 0.97


def test_every_part_number_question_is_answered_and_no_kind_is_weak(answers):
    by_kind = defaultdict(list)
    for question, answer, right in answers:
        if right:
            by_kind[question["kind"]].append(first_is_right(answer, right))
    share = {kind: sum(hits) / len(hits) for kind, hits in by_kind.items()}
    assert len(share) == 16
    assert {kind: hits for kind, hits in share.items() if kind.startswith("pn_") and hits < 1.0} == {}
    assert {kind: hits for kind, hits in share.items() if hits < 0.85} == {}


def test_a_sure_answer_is_right(answers):
    sure = [
        first_is_right(answer, right)
        for _, answer, right in answers
        if answer.matches and answer.matches[0].certainty is Certainty.SURE
    ]
    assert len(sure) >= 90
    assert sum(sure) / len(sure) >= 0.995


def test_no_question_without_an_answer_gets_a_sure_or_probable_one(answers):
    open_questions = [(question, answer) for question, answer, right in answers if not right]
    assert len(open_questions) == 9
    claimed = [
        question["query"]
        for question, answer in open_questions
        if answer.matches and answer.matches[0].certainty is not Certainty.UNSURE
    ]
    assert claimed == []
