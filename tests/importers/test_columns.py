"""Cell types: what they take, what they refuse, and that the sentence says what to write.

Refused spellings are those that conversions of the language take by mistake (int and float accept
underscores, other digits, ``nan``) and those that spreadsheets make (decimal commas, exponents).
"""

import contextlib
import math
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from importers.columns import (
    Currency,
    Flag,
    Gtin,
    IsoDate,
    Money,
    Name,
    Number,
    PartNumber,
    Text,
    WholeNumber,
    WholeNumberOf,
    build_word,
)
from kb.errors import BadInput
from kb.terms import SourceKind

MASS_G = Number(0.4, 100, "g")
LENGTH_MM = Number(0, 3_000, "mm", above=True)


@pytest.mark.parametrize(("text", "value"), [("743", 743.0), ("6.5", 6.5), ("0.4", 0.4), ("100", 100.0)])
def test_number_in_range_is_read(text, value):
    assert MASS_G.parse(text) == value if value <= 100 else LENGTH_MM.parse(text) == value


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("ten", "is not a number"),
        ("6,5", "decimal comma; write 6.5"),
        ("6.5 g", "'g' after the number; write the number in g without a unit"),
        ("6.5mm", "'mm' after the number"),
        ("30°", "after the number"),
        ("nan", "is not a number"),
        ("NaN", "is not a number"),
        ("inf", "is not a number"),
        ("-Infinity", "is not a number"),
        ("1e1", "exponent"),
        ("1_0", "is not a number"),
        ("1_000", "marks between thousands"),
        ("1.000.5", "marks between thousands|is not a number"),
        ("1 000", "marks between thousands"),
        ("0x10", "after the number|is not a number"),
        ("١٢", "digits other than 0 to 9"),
        ("1２", "digits other than 0 to 9"),
        ("+5", "is not a number"),
        (".5", "is not a number"),
        ("5.", "is not a number"),
        ("--5", "is not a number"),
        ("=1+1", "is not a number"),
        ("12345678901234567890", "more than 15 digits"),
    ],
)
def test_number_written_otherwise_is_refused_with_the_remedy(text, message):
    with pytest.raises(BadInput, match=message) as refusal:
        MASS_G.parse(text)
    assert text in str(refusal.value)


@pytest.mark.parametrize("text", ["0.399", "100.001", "0", "-7"])
def test_number_outside_the_plausible_range_is_refused_with_the_range(text):
    with pytest.raises(BadInput, match=r"outside the plausible range, 0\.4 to 100 g"):
        MASS_G.parse(text)


def test_zero_is_no_size():
    with pytest.raises(BadInput, match="above 0 to 3000 mm"):
        LENGTH_MM.parse("0")
    assert LENGTH_MM.parse("0.001") == 0.001


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("2.0", "not a whole number"),
        ("x", "not a number"),
        ("0", "outside"),
        ("11", "outside"),
        ("१", "digits other"),
    ],
)
def test_whole_number_is_strict(text, message):
    with pytest.raises(BadInput, match=message):
        WholeNumber(1, 10).parse(text)
    assert WholeNumber(1, 10).parse("10") == 10


def test_one_of_a_few_numbers():
    assert WholeNumberOf((2, 4)).parse("4") == 4
    with pytest.raises(BadInput, match="'3' is not accepted here; write 2 or 4"):
        WholeNumberOf((2, 4)).parse("3")


def test_word_of_a_list_and_its_nearest():
    kinds = build_word(SourceKind, but=[SourceKind.NOT_STATED])
    assert kinds.parse("manual") == "manual"
    with pytest.raises(BadInput, match=r"accepted are manual, standard.*; the nearest is 'supplier'"):
        kinds.parse("Suplier")
    with pytest.raises(BadInput, match="'not_stated' is not an accepted word"):
        kinds.parse("not_stated")


def test_flag_is_0_or_1():
    assert Flag().parse("1") is True
    assert Flag().parse("0") is False
    for text in ("yes", "2", "true", "01"):
        with pytest.raises(BadInput, match="0 or 1"):
            Flag().parse(text)


@pytest.mark.parametrize("text", ["31.01.2026", "2026-1-31", "20260131", "2026-01-31T00:00", "٢٠٢٦-01-31"])
def test_date_written_otherwise_is_refused(text):
    with pytest.raises(BadInput, match="YYYY-MM-DD"):
        IsoDate().parse(text)


def test_date_must_be_a_day_of_the_calendar():
    assert IsoDate().parse("2024-02-29") == date(2024, 2, 29)
    with pytest.raises(BadInput, match="not a day of the calendar"):
        IsoDate().parse("2026-02-29")
    with pytest.raises(BadInput, match="check the year"):
        IsoDate().parse("0026-01-31")


def test_money_is_exact():
    assert Money().parse("12.50") == Decimal("12.50")
    for text in ("12,50", "€12", "-1", "1e3", "10000000"):
        with pytest.raises(BadInput):
            Money().parse(text)


@pytest.mark.parametrize("text", ["eur", "EURO", "€", "E1R"])
def test_currency_is_three_capital_letters(text):
    assert Currency().parse("EUR") == "EUR"
    with pytest.raises(BadInput, match="three capital letters"):
        Currency().parse(text)


# Check digit worked out by hand by the rule of the GS1 General Specifications (from memory).
# 2900000012349: prefix 29 is for use inside one company, so the number is nobody's.
def test_gtin_is_kept_with_14_digits():
    assert Gtin().parse("2900000012349") == "02900000012349"


@pytest.mark.parametrize(
    ("text", "message"), [("2900000012348", "check digit"), ("29000000", "29000000"), ("2.9E+12", "spoiled")]
)
def test_gtin_with_a_wrong_digit_or_spoiled_is_refused(text, message):
    with pytest.raises(BadInput, match=message):
        Gtin().parse(text)


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("AB\u200b12", "U+200B"),
        ("AB\u202e12", "U+202E"),
        ("AB\u00ad12", "U+00AD"),
        ("AB\x0012", "U+0000"),
        ("AB\t12", "U+0009"),
        ("AB\n12", "U+000A"),
        ("AB\ufffd12", "U+FFFD"),
        ("AB\ufeff12", "U+FEFF"),
        ("\u0410B-12", "U+0410"),  # Cyrillic A before a Latin B
        ("A\u039212", "U+0392"),  # Greek Beta after a Latin A
    ],
)
def test_part_number_with_hidden_or_look_alike_characters_names_the_code_point(text, point):
    with pytest.raises(BadInput) as refusal:
        PartNumber().parse(text)
    assert point in str(refusal.value)


def test_part_number_is_normalised_to_one_spelling():
    assert PartNumber().parse("ＡＢ－１２") == "AB-12"
    assert PartNumber().parse("АБ-12") == "АБ-12"  # all Cyrillic is one script


@pytest.mark.parametrize(
    ("text", "message"),
    [("---", "neither letters nor digits"), ("4.5E+12", "spoiled"), ("x" * 65, "at most 64")],
)
def test_part_number_that_is_none_is_refused(text, message):
    with pytest.raises(BadInput, match=message):
        PartNumber().parse(text)


def test_engine_code_in_upper_case_is_refused_with_the_lower_case():
    assert Name(lower_case=True).parse("plover-50-s") == "plover-50-s"
    with pytest.raises(BadInput, match="upper-case letters; codes are lower-case; write 'plover-50-s'"):
        Name(lower_case=True).parse("Plover-50-S")


def test_notes_may_have_lines_and_names_may_not():
    assert Text().parse("one\r\ntwo") == "one\ntwo"
    with pytest.raises(BadInput, match=r"U\+000A"):
        Name().parse("one\ntwo")


def test_text_has_a_longest_length():
    assert Text().parse("x" * 2_000) == "x" * 2_000
    with pytest.raises(BadInput, match="at most 2000 are kept"):
        Text().parse("x" * 2_001)


CELL_TYPES = [
    MASS_G,
    LENGTH_MM,
    WholeNumber(1, 10),
    Text(),
    Name(),
    Name(lower_case=True),
    PartNumber(),
    Gtin(),
    IsoDate(),
    Money(),
    Currency(),
    Flag(),
    WholeNumberOf((2, 4)),
    build_word(SourceKind),
]


@pytest.mark.parametrize("cell", CELL_TYPES, ids=lambda cell: type(cell).__name__)
@given(
    text=st.text(st.characters(codec=None), min_size=1) | st.from_regex(r"[-+]?[0-9.,eE_ ]{1,25}[a-z°]{0,3}")
)
def test_any_text_gives_a_value_or_a_sentence(cell, text):
    text = text.strip()
    if not text:
        return
    with contextlib.suppress(BadInput):
        value = cell.parse(text)
        assert value is not None
        assert not (isinstance(value, float) and not math.isfinite(value))
