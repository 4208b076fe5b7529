"""Correction of single words. Distances are checked with rapidfuzz, slips are common practice, no source."""

import random
import string

import pytest
from rapidfuzz.distance import OSA

from kb.rules.match.phrases import PhraseTable
from kb.rules.match.spelling import NearestWords, Spelling, is_shortening, sound_key

PHRASES = PhraseTable(
    [
        ("belt", "drive belt"),
        ("brake_pads", "brake pads"),
        ("clutch", "clutch weights"),
        ("variator", "variator"),
        ("cylinder", "cylinder"),
        ("rollers", "rollers"),
        ("bearing", "bearing"),
        ("gasket", "gasket"),
        ("spring", "spring"),
        ("nut", "pulley nut"),
        ("", "rear"),
    ]
)
SPELLING = Spelling(PHRASES, {"break": 3, "quince": 1})


def first_of(word):
    return SPELLING.read_question_word(word)[0][0]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("barke", "brake"),
        ("bearibg", "bearing"),
        ("rlller", "roller"),
        ("gskt", "gasket"),
        ("brg", "bearing"),
        ("spr", "spring"),
        ("clu", "clutch"),
        ("vareator", "variator"),
        ("kluch", "clutch"),
        ("waits", "weight"),
        ("pluley", "pulley"),
        ("sillinder", "cylinder"),
    ],
)
def test_a_wrong_word_is_read_as_the_trade_word(written, meant):
    assert first_of(written) == meant


@pytest.mark.parametrize(
    ("known", "also"),
    [("break", "brake")],
)
def test_a_known_word_keeps_its_meaning_and_may_mean_another(known, also):
    readings = dict(SPELLING.read_question_word(known))
    assert readings[known] == 1.0
    assert 0.0 < readings[also] < 0.75


@pytest.mark.parametrize("filler", ["please", "the", "x", "fits"])
def test_fillers_have_no_reading(filler):
    assert SPELLING.read_question_word(filler) == ()
    assert SPELLING.read_row_word(filler) == ()


def test_a_word_near_nothing_has_no_reading():
    assert SPELLING.read_question_word("xylophone") == ()


def test_a_row_word_keeps_its_spelling_beside_the_full_word():
    assert SPELLING.read_row_word("brg")[0][0] == "bearing"
    assert SPELLING.read_row_word("brg")[-1] == ("brg", 1.0)


@pytest.mark.parametrize(("joined", "meant"), [("rollers", "roller"), ("varyeater", "variator")])
def test_neighbours_may_be_one_word(joined, meant):
    assert SPELLING.find_joined(joined)[0][0] == meant


def test_one_word_may_be_two():
    assert SPELLING.find_split("drivebelt") == ("drive", "belt")
    assert SPELLING.find_split("belt") is None


@pytest.mark.parametrize(
    ("short", "word", "holds"),
    [
        ("brg", "bearing", True),
        ("brn", "bearing", True),
        ("gb", "bearing", False),
        ("grb", "bearing", False),
        ("abc", "abcdefghijk", False),
        ("abcd", "abcdefghijk", True),
        ("belt", "belt", False),
    ],
)
def test_a_shortening_keeps_first_letter_and_order(short, word, holds):
    assert is_shortening(short, word) is holds


@pytest.mark.parametrize(("one", "other"), [("kluch", "clutch"), ("shews", "shoes"), ("weights", "waits")])
def test_words_that_sound_alike_share_their_skeleton(one, other):
    assert sound_key(one) == sound_key(other)


@pytest.mark.parametrize("scan_limit", [5_000, 0])
def test_the_nearest_words_are_those_that_rapidfuzz_finds(scan_limit):
    rng = random.Random(3)
    words = sorted({"".join(rng.choices("abcde", k=rng.randint(4, 8))) for _ in range(400)})
    nearest = NearestWords(words, scan_limit=scan_limit)
    for _ in range(100):
        word = "".join(rng.choices("abcde", k=rng.randint(4, 8)))
        limit = 1 if len(word) <= 5 else 2
        least = min(OSA.distance(word, other) for other in words)
        found = nearest.find(word)
        # The table of deletions reaches as far as the shorter word allows.
        if least <= min(1, limit):
            assert found[0][1] == least
        assert all(OSA.distance(word, other) == distance <= limit for other, distance in found)


def test_large_vocabularies_are_searched_by_deletions():
    rng = random.Random(4)
    words = {"".join(rng.choices(string.ascii_lowercase, k=8)) for _ in range(6_000)}
    nearest = NearestWords(words)
    word = sorted(words)[0]
    assert nearest.find(word[:3] + word[4:])[0] == (word, 1)
