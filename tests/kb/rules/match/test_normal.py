"""One spelling of any text. Unicode forms: Unicode Standard Annex 15 (NFKD), tables of the library."""

import pytest

from kb.rules.match.normal import encode_token, fold_text, normalise, squeeze


@pytest.mark.parametrize(
    "written", ["788x17-28", "788/17/28", "788 x 17 x 28", "788×17×28", "788*17*28", "788–17–28"]
)
def test_signs_between_numbers_do_not_matter(written):
    assert normalise(written).split() == ["788", "17", "28"]


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("17,5", "17.5"),
        ("M16x1,25", "m16 1.25"),
        ("27,42,8", "27 42 8"),
        ("6, 7", "6, 7"),
        (".69", "0.69"),
    ],
)
def test_a_comma_between_two_numbers_is_a_decimal_comma(written, read):
    assert normalise(written) == read


def test_the_last_letter_of_a_code_is_no_sign():
    assert normalise("XC180X 1000 rpm") == "xc180x 1000 rpm"


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("Béluna", "beluna"),
        ("Ärlenko", "arlenko"),
        ("Tørvik", "torvik"),
        ("Łomza", "lomza"),
        ("Straße", "strasse"),
    ],
)
def test_accents_are_dropped(written, read):
    assert fold_text(written) == read


def test_full_width_and_arabic_digits_are_digits():
    assert normalise("７８８") == "788"
    assert normalise("٧٨٨") == "788"


def test_a_diameter_sign_is_no_letter():
    assert normalise("Ø19").split() == ["dia", "19"]


def test_tokens_hold_only_plain_letters_and_digits():
    assert encode_token("w", "ремень") == "wu440u435u43cu435u43du44c"


def test_a_code_is_the_same_with_and_without_blanks():
    assert squeeze("Plover-50 S") == squeeze("plover 50s") == "plover50s"
