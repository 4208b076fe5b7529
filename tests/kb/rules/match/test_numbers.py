"""Sizes as number tokens. 1 inch = 25.4 mm, exact (SI Brochure; NIST SP 811 Appendix B)."""

import pytest

from kb.rules.match.normal import normalise
from kb.rules.match.numbers import (
    Number,
    format_number,
    format_size_code,
    list_question_alternatives,
    list_row_tokens,
    read_inches,
)
from kb.rules.match.pieces import list_pieces


def numbers_of(text):
    return [piece.as_number() for piece in list_pieces(normalise(text)) if piece.kind == "number"]


def tokens_of(text):
    return list_row_tokens(numbers_of(text))


def test_zeros_do_not_matter():
    assert [format_number(text) for text in ("17.50", "017.5", "17.5")] == ["17.5"] * 3
    assert [format_number(text) for text in ("0", "00.0")] == ["0", "0"]


def test_the_order_of_sizes_does_not_matter():
    assert sorted(tokens_of("788x17-28")) == sorted(tokens_of("28 / 17 / 788"))


def test_a_number_said_twice_counts_twice():
    assert tokens_of("21x21") == ["n21", "n21x2"]


@pytest.mark.parametrize(
    ("written", "token"),
    [
        ("12V", "n12v"),
        ("12 volt", "n12v"),
        ("6Ah", "n6ah"),
        ("9,5 gram", "n9p5g"),
        ("21gr", "n21g"),
        ("1200rpm", "n1200rpm"),
        ("M16x1.25", "n16m"),
        ("AF19", "n19af"),
        ("15/52T", "n52t"),
        ("set of 6", "n6pc"),
        ("4-stroke", "n4stroke"),
        ("12 inch wheel", "n12in"),
    ],
)
def test_a_unit_gives_a_token_of_its_own(written, token):
    assert token in tokens_of(written)


@pytest.mark.parametrize("written", ["4-stroke", "12 inch wheel", "set of 6", "6 pcs"])
def test_a_count_or_a_wheel_is_no_size(written):
    assert len(tokens_of(written)) == 1


def test_six_volt_twelve_is_not_twelve_volt_six():
    assert "n6v" in tokens_of("6V 12Ah")
    assert "n12v" not in tokens_of("6V 12Ah")


def test_a_wrong_unit_weakens_and_does_not_lose():
    assert list_question_alternatives(Number("21", "kg"), 1) == (("n21kg", 1.0), ("n21", 0.85))


@pytest.mark.parametrize(
    ("inches", "millimetres"),
    [("37.05", "941"), ("0.69", "17.5"), ("0.71", "18"), ("27.60", "701"), ("1.5", "38.1")],
)
def test_decimal_inches_become_the_nearest_trade_sizes(inches, millimetres):
    assert millimetres in read_inches(inches)


def test_inches_stay_within_their_tolerance():
    # 0.70 in is 17.78 mm: 17.75 and 17.8 are near enough, 17.5 and 18 are not.
    assert set(read_inches("0.70")) == {"17.75", "17.8"}


def test_an_inch_mark_takes_the_decimals_before_it():
    first, second = numbers_of('37.05 x 0.69"')
    assert "941" in first.inch_readings
    assert "17.5" in second.inch_readings


@pytest.mark.parametrize("written", ['0.69"', "0.69in", "0.69 inch", "0.69 ″"])
def test_every_inch_mark_is_read(written):
    assert numbers_of(written)[0].inch_readings == ("17.5",)


def test_a_number_too_long_for_a_size_is_not_converted():
    assert read_inches("1234567890.5") == ()


def test_an_inch_mark_leaves_other_sizes_alone():
    assert [number.inch_readings for number in numbers_of('788 17 0.69"')][:2] == [(), ()]
    assert [number.inch_readings for number in numbers_of("28 x 42.5 12 inch wheel")] == [(), (), ()]


def test_a_size_code_is_the_same_for_every_order():
    assert format_size_code(numbers_of("17.5x788x28")) == format_size_code(numbers_of("788-28-17.5"))
    assert format_size_code(numbers_of("788 17.5 28")) == "788x28x17.5"
