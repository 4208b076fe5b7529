"""GS1 General Specifications (from memory); check digits compared with the python-barcode library.

All numbers carry prefixes for use inside one company.
"""

import barcode
import pytest

from kb.errors import BadNotation
from kb.notation.gtin import compute_check_digit, format_gtin, parse_gtin


@pytest.mark.parametrize(
    "digits", ["290000001234", "200000000000", "021234567890", "299999999999", "041111111111"]
)
def test_check_digit_agrees_with_a_barcode_library(digits):
    assert f"{digits}{compute_check_digit(digits)}" == barcode.get("ean13", digits).get_fullcode()


@pytest.mark.parametrize("digits", ["2000000", "2001234", "0212345"])
def test_short_check_digit_agrees_with_a_barcode_library(digits):
    assert f"{digits}{compute_check_digit(digits)}" == barcode.get("ean8", digits).get_fullcode()


@pytest.mark.parametrize(
    ("text", "gtin14", "kind"),
    [
        ("2900000012349", "02900000012349", "GTIN-13"),
        (" 2900-0000 12349\r\n", "02900000012349", "GTIN-13"),
        ("２９０００００012349\t", "02900000012349", "GTIN-13"),
        ("0412345678903", "00412345678903", "GTIN-12"),
        ("02900000012349", "02900000012349", "GTIN-13"),
        ("00412345678903", "00412345678903", "GTIN-12"),
        ("00000020012342", "00000020012342", "GTIN-8"),
        ("]E02900000012349\r", "02900000012349", "GTIN-13"),
        ("\ufeff]e02900000012349", "02900000012349", "GTIN-13"),
        ("]E420012342", "00000020012342", "GTIN-8"),
        ("(01)02900000012349", "02900000012349", "GTIN-13"),
    ],
)
def test_typed_and_scanned_numbers_are_read(text, gtin14, kind):
    reading = parse_gtin(text)
    assert (reading.gtin14, reading.type, reading.batch) == (gtin14, kind, None)


@pytest.mark.parametrize(
    "text",
    [
        "]C1011290000001234610B77",
        "]d2011290000001234610B77\x1d21X1",
        "]Q310B77\x1d0112900000012346",
        "]C1\x1d01129000000123461726013110B77\x1d",
        "(01)1290-0000-012346 (10)B77",
        "(17)260131(01)12900000012346(10)B77",
    ],
)
def test_batch_behind_the_number_is_read(text):
    reading = parse_gtin(text)
    assert (reading.gtin14, reading.type, reading.batch) == ("12900000012346", "GTIN-14", "B77")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12345", "bad_length"),
        ("123456789012345", "bad_length"),
        ("0112900000012346", "bad_length"),
        ("]C101129000", "bad_length"),
        ("(01)290000001234", "bad_length"),
        ("2900000012340", "bad_check_digit"),
        ("]E02900000012340", "bad_check_digit"),
        ("0000000000000", "all_zero"),
        ("29000000I2349", "not_recognised"),
        ("2.9E+12", "not_recognised"),
        ("2900--000012349", "not_recognised"),
        ("٢٩٠٠٠٠٠٠١٢٣٤٩", "not_recognised"),
        ("]A0290000001234", "not_recognised"),
        ("]C10112900000012346" + "99A", "not_recognised"),
        ("]C110B77", "not_recognised"),
        ("(10)B77", "not_recognised"),
        ("(01)", "not_recognised"),
        ("(01)1290000001234X", "not_recognised"),
        ("(01)12900000012346(10)B 77", "not_recognised"),
        ("(01)12900000012346(10)" + "B" * 21, "not_recognised"),
        ("\x1d", "empty"),
    ],
)
def test_what_is_no_article_number_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_gtin(text)
    assert refusal.value.reason == expected


@pytest.mark.parametrize("digits", ["2900000012349", "20012342", "412345678903", "12900000012346"])
def test_number_keeps_the_digits_of_its_type(digits):
    assert format_gtin(parse_gtin(digits)) == digits


def test_number_with_batch_is_printed_with_brackets():
    assert format_gtin(parse_gtin("]C1011290000001234610B77")) == "(01)12900000012346(10)B77"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2900000012349", True),
        ("20012342", True),
        ("0212345678909", True),
        ("412345678903", True),  # 12 digits: the prefix of the 13-digit form is 04
        ("3000000000007", False),
    ],
)
def test_in_company_numbers_are_told_apart(text, expected):
    body = text[:-1]
    assert parse_gtin(body + str(compute_check_digit(body))).is_in_company_number is expected
