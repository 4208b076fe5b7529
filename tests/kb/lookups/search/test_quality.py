"""The 153 questions with known answers, asked of a SQLite and of a PostgreSQL database.

Only the words that the program ships are known, none of the test's own. Source: rows, questions and limits
come from a measured study made before this code (tests/kb/rules/match/README.md).
"""

from collections import defaultdict

from kb.database import open_reader
from kb.lookups.search.find import find_matches
from kb.terms import Certainty


def is_right(answer, right):
    return bool(answer.results) and answer.results[0].row.part_number in right


def test_questions_are_answered_as_well_as_required(catalogue, questions):
    kinds, recalls, sure, claimed = defaultdict(list), [], [], []
    with open_reader(catalogue) as session:
        for question in questions:
            answer = find_matches(session, question["query"], 10)
            right = set(filter(None, question["expected_part_nos"].split("|")))
            first = answer.results[0].certainty if answer.results else Certainty.UNSURE
            if first is Certainty.SURE:
                sure.append(is_right(answer, right))
            if not right and first is not Certainty.UNSURE:
                claimed.append(question["query"])
            if right:
                kinds[question["kind"]].append(is_right(answer, right))
                shown = {found.row.part_number for found in answer.results}
                recalls.append(len(right & shown) / min(10, len(right)))
    hits = [hit for of_kind in kinds.values() for hit in of_kind]
    assert len(hits) == 144
    assert sum(hits) / len(hits) >= 0.97
    assert sum(recalls) / len(recalls) >= 0.97
    share = {kind: sum(of_kind) / len(of_kind) for kind, of_kind in kinds.items()}
    assert {kind: part for kind, part in share.items() if kind.startswith("pn_") and part < 1} == {}
    assert {kind: part for kind, part in share.items() if part < 0.85} == {}
    assert len(sure) >= 90
    assert sum(sure) / len(sure) >= 0.995
    assert claimed == []
