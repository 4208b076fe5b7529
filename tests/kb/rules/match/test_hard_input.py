"""Anything may be typed: no error, no token that a full-text index would take for an operator."""

import random
import re
import string
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.rules.match.look_up import look_up
from kb.rules.match.note import split_note
from kb.rules.match.tokens import RowText

PLAIN = re.compile(r"[kpcmnw][a-z0-9]+")
HARD = [
    "",
    " ",
    "\x00\x01\x1f",
    '" OR 1=1 --',
    "NEAR(a b) AND NOT {c}* ^d",
    "'; DROP TABLE part; --",
    "%_%",
    "one " * 1000,
    "1 " * 2000,
    "9" * 4000,
    "0.1" * 1300,
    "1,1," * 1000,
    "x" * 4000,
    "1x" * 2000,
    "-" * 4000,
    '"' * 4000,
    "seven eighty point half hundred and a thousand " * 80,
    "ремень 788 17 28",
    "皮带 788×17×28",
    "حزام ٧٨٨",
    "\ud800 belt \udfff",
    "e\u0301" * 2000,
    "🛵 belt 🛵",
    "ﬁlter ①②③ ½ ²",
    "İstanbul ıI ſ",
]


def check(store, analyser, text):
    question = analyser.analyse_question(text)
    assert len(question.text) <= 200
    for reading in question.readings:
        for group in reading.groups:
            assert all(PLAIN.fullmatch(token) for token, _ in group.alternatives)
    assert all(0.0 <= match.score <= 1.0 for match in look_up(store, question).matches)
    keys = analyser.analyse_row(RowText(text, text, text, codes=(text,)))
    assert all(PLAIN.fullmatch(token) for token in keys.tokens)
    split_note(text)


@pytest.mark.parametrize("text", HARD, ids=range(len(HARD)))
def test_hard_text_is_no_error(catalogue, text):
    check(*catalogue, text)


def test_random_text_is_no_error(catalogue):
    rng = random.Random(99)
    letters = string.printable + "×–″äßøł½٣中文и°\x00\u200b" + '"*/-.,x0123456789'
    for _ in range(400):
        check(*catalogue, "".join(rng.choice(letters) for _ in range(rng.choice((3, 30, 220)))))


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(text=st.text(max_size=120))
def test_any_unicode_is_no_error(catalogue, text):
    check(*catalogue, text)


def test_every_single_character_is_no_error(catalogue):
    _, analyser = catalogue
    for start in range(0, sys.maxunicode, 997):
        analyser.analyse_question(f"belt {chr(start)} 788{chr(start)}17")


def test_a_word_in_another_script_finds_its_row(make_store):
    store, analyser = make_store(
        [RowText("A-70001", "Ostmark", "ремень 788 17 28"), RowText("A-70002", "", "belt")]
    )
    first = look_up(store, analyser.analyse_question("ремень 788")).matches[0]
    assert first.candidate.part_number == "A-70001"
