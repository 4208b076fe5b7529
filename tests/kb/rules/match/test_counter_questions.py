"""Questions as they come over a counter, asked of the test catalogue, with the trade words that ship.

Most were written from the rows of the catalogue before the trade words were looked at. Limits as in
test_catalogue_quality.py. Source: ways of asking are common practice, no source.
"""

from collections import defaultdict

import pytest

from kb.rules.match.look_up import look_up
from kb.terms import Certainty


@pytest.fixture(scope="module")
def answers(catalogue, counter_questions):
    """Kind, question, certainty of the first row, whether it is right, and share of right rows shown."""
    store, analyser = catalogue
    answered = []
    for line in counter_questions:
        right = set(filter(None, line["right"].split("|")))
        matches = look_up(store, analyser.analyse_question(line["question"])).matches
        shown = [match.candidate.part_number for match in matches[:10]]
        certainty = matches[0].certainty if matches else None
        share = len(right.intersection(shown)) / min(10, len(right)) if right else None
        answered.append((line["kind"], line["question"], certainty, bool(shown) and shown[0] in right, share))
    return answered


def test_the_first_row_is_right_for_97_of_100_and_no_kind_is_weak(answers):
    by_kind = defaultdict(list)
    for kind, _, _, is_hit, share in answers:
        if share is not None:
            by_kind[kind].append(is_hit)
    assert {kind: hits for kind, hits in by_kind.items() if sum(hits) / len(hits) < 0.85} == {}
    hits = [hit for of_kind in by_kind.values() for hit in of_kind]
    assert len(hits) >= 120
    assert sum(hits) / len(hits) >= 0.97


def test_right_rows_stand_among_the_first_ten(answers):
    shares = [share for *_, share in answers if share is not None]
    assert sum(shares) / len(shares) >= 0.97


def test_every_sure_answer_is_right_and_what_is_not_kept_is_never_sure(answers):
    sure = [
        (question, is_hit) for _, question, certainty, is_hit, _ in answers if certainty is Certainty.SURE
    ]
    assert len(sure) >= 95
    assert [question for question, is_hit in sure if not is_hit] == []


def test_what_is_not_kept_is_seldom_probable(answers):
    certainties = [certainty for *_, certainty, _, share in answers if share is None]
    assert len(certainties) >= 35
    assert certainties.count(Certainty.PROBABLE) <= 3
