"""Free text that is neither a number as written nor a size: the look-up's one sure part, or nothing."""

import pytest

from kb.database import open_reader
from kb.errors import KbError
from kb.lookups.asked import find_meaning
from kb.terms import Position


def find_number(engine, text):
    with open_reader(engine) as session:
        return [part.ref.part_number for part in find_meaning(session, text, None).parts]


@pytest.mark.parametrize(
    ("text", "part_number"),
    [
        ("TW 2OO9.8", "TW 2009.8"),
        ("Kernhasel bearing 6203 ZZ C3", "KH 6203-ZZ/C3"),
        ("Brackenloop aramid cvt belt 669 18 30", "LP-669-18-30"),
    ],
)
def test_the_one_part_that_is_surely_described_is_meant(demo_engine, text, part_number):
    assert find_number(demo_engine, text) == [part_number]


@pytest.mark.parametrize("text", ["Tollwyne LP-669-18-30", "Tollwyne gizmo 12", "belt of unobtainium"])
def test_a_number_of_another_maker_or_a_doubtful_wording_stays_refused(demo_engine, text):
    with pytest.raises(KbError):
        find_number(demo_engine, text)


@pytest.mark.parametrize("position", [Position.ROLLERS, Position.DRIVEN_FACE])
def test_a_size_at_a_place_for_other_sizes_is_not_taken_for_a_part_that_has_it(demo_engine, position):
    # Common practice, no source: a belt's size says nothing about rollers, and names no maker's belt.
    with open_reader(demo_engine) as session, pytest.raises(KbError):
        find_meaning(session, "664-18-30", position)  # one belt of the demo has this size
