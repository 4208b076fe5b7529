import pytest

from kb.errors import BadNotation
from kb.notation.cleanup import clean, clean_numbers, has_lost_number, repair_digits, resolve_commas
from kb.notation.reading import Notation, format_number, show_text

SIZE = Notation("Size", "write it plainly")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("30°", "30deg"),
        ("30º", "30deg"),  # the ordinal sign would become the letter o
        ("30˚", "30deg"),
        ("788\u200b\ufeff\u00ad17", "78817"),
        ("７８８　１７", "788 17"),
        ("17㎜", "17mm"),
        ("1‐2‑3‒4–5—6―7−8", "1-2-3-4-5-6-7-8"),
        ("1∼2〜3～4˜5", "1~2~3~4~5"),
        ("1×2✕3*4х5", "1x2x3x4x5"),
        ("М10", "M10"),
        ("Ø16", "16"),
        ("N·m N⋅m N・m", "N.m N.m N.m"),
        (" 788\t17\u00a0\n28 ", "788 17 28"),
    ],
)
def test_look_alikes_become_plain(text, expected):
    assert clean(text, SIZE) == expected


def test_star_is_kept_where_it_frames_a_stamp():
    assert clean("*139QMB*", SIZE, keeps_star=True) == "*139QMB*"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        (" \u200b\ufeff ", "empty"),
        ("788-1?-28", "not_recognised"),
        ("28²", "not_recognised"),
        ("17½", "not_recognised"),
        ("①6", "not_recognised"),
        ("1" * 201, "not_recognised"),
    ],
)
def test_unreadable_text_is_refused(text, reason):
    with pytest.raises(BadNotation) as refusal:
        clean(text, SIZE)
    assert refusal.value.reason == reason


def test_long_blanks_around_a_size_do_not_matter():
    assert clean(" " * 4000 + "788", SIZE) == "788"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("78O", "780"),
        ("7oo", "700"),
        ("I7", "17"),
        ("l7|", "171"),
        ("1OI", "101"),
        ("MI0", "M10"),
        ("4ONm", "40Nm"),
    ],
)
def test_misread_digits_are_mended(text, expected):
    assert repair_digits(text) == (expected, True)


@pytest.mark.parametrize("text", ["30lbf", "O-ring", "B8", "S5", "788Li", "foo", "1left", "La788"])
def test_nothing_else_is_mended(text):
    assert repair_digits(text) == (text, False)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("17,5x788", ("17.5x788", True)),
        ("17,5mm", ("17.5mm", True)),
        ("788,17,28", ("788,17,28", False)),
        ("788, 17, 28", ("788, 17, 28", False)),
        ("L=788, W=17,5", ("L=788, W=17.5", True)),
    ],
)
def test_comma_is_decimal_only_beside_another_separator(text, expected):
    assert resolve_commas(text, SIZE) == expected


@pytest.mark.parametrize("text", ["1,000-24-28", "1,000Nm", "788, 17,5", "1,2,3 mm", "1.2,3 mm", "1,2.3 mm"])
def test_comma_that_may_mean_two_things_is_refused(text):
    with pytest.raises(BadNotation) as refusal:
        resolve_commas(text, SIZE)
    assert refusal.value.reason == "ambiguous_separator"


def test_mending_is_flagged():
    assert clean_numbers("78O x 17,5", SIZE).flags == {"ocr_fixed", "decimal_comma"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [("788--17", True), ("788 - x 17", True), ("-788", True), ("788-", True), ("788 - 17", False)],
)
def test_two_separators_in_a_row_lose_a_number(text, expected):
    assert has_lost_number(text) is expected


def test_refusal_is_one_printable_line():
    with pytest.raises(BadNotation) as refusal:
        clean("7\x00\n?" + "8" * 100, SIZE)
    assert str(refusal.value) == (
        "Size '7  ?" + "8" * 56 + "…' holds a question mark, so something was not legible; write it plainly."
    )
    assert show_text("short") == "short"


@pytest.mark.parametrize(
    ("value", "expected"), [(17.0, "17"), (0.1 + 0.2, "0.3"), (100.0, "100"), (1e-5, "0.00001")]
)
def test_numbers_have_one_spelling(value, expected):
    assert format_number(value) == expected
