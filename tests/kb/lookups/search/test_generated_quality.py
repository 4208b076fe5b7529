"""The generated questions of tests/kb/rules/match, asked of a SQLite and of a PostgreSQL database.

Here the whole phrase table of the program is known and no other; rows are stored as a catalogue gives them.
"""

import importlib.util
import random
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from kb.database import open_reader
from kb.lookups.search.find import find_matches
from kb.terms import Certainty

PATH = Path(__file__).parents[2] / "rules" / "match" / "test_generated_quality.py"


@pytest.fixture(scope="module")
def generated():
    """Module that makes rows and questions."""
    spec = importlib.util.spec_from_file_location("generated_look_up_questions", PATH)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def answers(generated, database, load_files):
    rng = random.Random(generated.SEED)
    rows = generated.make_catalogue(rng)
    asked = generated.Asker(rng, rows).ask_all()
    lines = [
        f'{row.maker},{row.part_number},other,"{row.text.replace(chr(34), chr(34) * 2)}"' for row in rows
    ]
    report = load_files(database, parts="maker,part_number,part_type,description\n" + "\n".join(lines) + "\n")
    assert not report.has_problems, report.as_json()
    with open_reader(database) as session:
        return [(one, find_matches(session, one.text, 10).results) for one in asked]


def test_generated_questions_are_answered_as_well_as_required(answers):
    kinds, recalls, sure, nothing = defaultdict(list), [], [], []
    for one, found in answers:
        is_sure = bool(found) and found[0].certainty is Certainty.SURE
        is_right = bool(found) and found[0].row.part_number in one.right
        if not one.right:
            nothing.append(found[0].certainty if found else Certainty.UNSURE)
            continue
        kinds[one.kind].append(is_right)
        shown = {item.row.part_number for item in found}
        recalls.append(len(one.right & shown) / min(10, len(one.right)))
        if is_sure:
            sure.append(is_right)
    share = {kind: sum(hits) / len(hits) for kind, hits in kinds.items()}
    assert len(answers) == 1_170
    assert sum(share.values()) / len(share) >= 0.97, share
    assert sum(recalls) / len(recalls) >= 0.97
    assert {kind: part for kind, part in share.items() if part < 0.85} == {}
    assert {kind: part for kind, part in share.items() if kind.startswith("pn_") and part < 1} == {}
    assert len(sure) >= 400
    assert sum(sure) / len(sure) >= 0.995
    assert Certainty.SURE not in nothing
    assert nothing.count(Certainty.PROBABLE) <= len(nothing) / 20
