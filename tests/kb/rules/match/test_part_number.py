"""Keys of part numbers. One edit is checked with rapidfuzz's optimal string alignment."""

import random
import string

import pytest
from rapidfuzz.distance import OSA

from kb.rules.match.part_number import (
    format_key,
    format_look_alike,
    is_number_question,
    is_one_edit,
    split_for_one_edit,
)


@pytest.mark.parametrize("written", ["ZI18 12928", "zi18-12928", "zi18/12.928", "Zi1812928"])
def test_marks_and_case_do_not_matter(written):
    assert format_key(written) == "ZI1812928"


@pytest.mark.parametrize(
    ("first", "second"), [("O0Q", "000"), ("IL1", "111"), ("S5", "55"), ("Z2", "22"), ("B8", "88")]
)
def test_characters_of_a_worn_label_are_made_one(first, second):
    assert format_look_alike(first) == format_look_alike(second) == second


@pytest.mark.parametrize(
    ("key", "holds"),
    [
        ("A123", False),
        ("AB123", True),
        ("ABC12", False),
        ("A" * 17 + "123", True),
        ("A" * 18 + "123", False),
        ("", False),
    ],
)
def test_a_part_number_has_five_to_twenty_characters_and_three_digits(key, holds):
    assert is_number_question(key) is holds


def edit_once(rng, key):
    at = rng.randrange(len(key))
    letter = rng.choice(string.ascii_uppercase + string.digits)
    kind = rng.randrange(4)
    if kind == 3 and at + 1 < len(key):
        return key[:at] + key[at + 1] + key[at] + key[at + 2 :]
    return [key[:at] + key[at + 1 :], key[:at] + letter + key[at:], key[:at] + letter + key[at + 1 :]][
        kind % 3
    ]


def test_halves_catch_every_key_one_edit_away():
    rng = random.Random(11)
    for _ in range(3_000):
        key = "".join(rng.choices(string.ascii_uppercase + string.digits, k=rng.randint(6, 14)))
        asked = edit_once(rng, key)
        assert OSA.distance(asked, key) <= 1
        starts, reversed_start = split_for_one_edit(asked)
        assert any(key.startswith(start) for start in starts) or key[::-1].startswith(reversed_start)
        assert is_one_edit(asked, key)


def test_two_edits_are_too_many():
    assert not is_one_edit("AB12345", "AC12354")
