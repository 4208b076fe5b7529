"""Whatever is typed, pasted or scanned: a reading or BadNotation, quickly, and spellings that are stable."""

import csv
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import BadNotation
from kb.notation.read import KINDS, format_code, read_as_json, read_code

with (Path(__file__).parent / "notation_examples.csv").open(encoding="utf-8", newline="") as _file:
    EXAMPLES = sorted({row["input"] for row in csv.DictReader(_file)})

GIVEN_KINDS = st.sampled_from(KINDS)
# Characters of the trade and look-alikes, so that many texts get far into the parsers.
TRADE_TEXT = st.text(
    alphabet="0123456789OolIx×*-–/;,.~±+()[] MWVEPQFBRSTCLHKNmgkdfb°º\t\x1d?=٣²½#\"'𝟕", max_size=24
)
WORDS = (
    *("788", "17", "28", "6.5", "1000", "16", "13", "-", "x", ",", "/", "°", "g", "mm"),
    *("La", "M10", "1.25", "N.m", "kgf", "±", "(", ")", "139", "QMB", "1P52", "*"),
    *(
        "6202",
        "2RS",
        "C3",
        "HK2016",
        "TC",
        "AS568",
        "120/70",
        "-12",
        "51L",
        "rpm",
        "L0=90",
        "d=4",
        "LH",
        "8.8",
        "+",
        "pcs",
        "W25",
        "1922V282",
        "]C1",
        "01",
    ),
)
PIECES = st.lists(st.sampled_from((" ", *WORDS)), max_size=8).map("".join)


def check(text, kind):
    """Only BadNotation escapes, and the spelling of what was read is stable."""
    try:
        reading = read_code(text, kind)
    except BadNotation:
        assert read_as_json(text, kind)["message"].endswith(".")
        return
    spelling = format_code(reading)
    again = read_code(spelling, reading.kind)
    assert format_code(again) == spelling
    facts = read_as_json(text, reading.kind)
    facts_again = read_as_json(spelling, reading.kind)
    facts.pop("flags", None)
    facts_again.pop("flags", None)
    assert facts == facts_again
    assert reading.raw == text


@settings(max_examples=200, deadline=None)
@given(text=st.text(max_size=60), kind=GIVEN_KINDS)
def test_arbitrary_text(text, kind):
    check(text, kind)


@settings(max_examples=200, deadline=None)
@given(text=TRADE_TEXT, kind=GIVEN_KINDS)
def test_text_of_the_trade(text, kind):
    check(text, kind)


@settings(max_examples=200, deadline=None)
@given(text=PIECES, kind=GIVEN_KINDS)
def test_pieces_of_sizes(text, kind):
    check(text, kind)


@settings(max_examples=200, deadline=None)
@given(
    text=st.sampled_from(EXAMPLES),
    place=st.integers(0, 40),
    removed=st.integers(0, 2),
    inserted=st.text(alphabet="0123456789OlI.,-x/ gMWLA°±()*=", max_size=2),
    kind=GIVEN_KINDS,
)
def test_mutated_examples(text, place, removed, inserted, kind):
    check(text[:place] + inserted + text[place + removed :], kind)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("text", EXAMPLES)
def test_every_example_as_every_kind(text, kind):
    check(text, kind)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "text",
    [
        "nan",
        "inf",
        "1e309",
        "-1e309 N.m",
        "١٢-٣٤",
        "\ud800",
        "\x00",
        "1" * 4000,
        "1-" * 2000,
        "((((" * 1000,
        " " * 4000 + "x",
        "1 x " * 49,
        "1" * 199,
        "1x" * 99 + "1",
        "M" + "8-8.8" * 39,
        "M8" + " 6g" * 60,
        "*" * 200,
        "\ufdfa" * 200,
        "㏾" * 199,
    ],
    ids=lambda text: text[:8].encode("unicode_escape").decode() + f"_{len(text)}",
)
def test_hostile_text_is_refused_at_once(text, kind):
    started = time.process_time()
    assert read_as_json(text, kind)["ok"] is False
    assert time.process_time() - started < 0.5
