"""Minor units of currencies. Decimals of the currencies: ISO 4217, from memory."""

from decimal import Decimal

import pytest

from kb.edits.money import convert_to_minor
from kb.errors import BadInput


@pytest.mark.parametrize(
    ("amount", "currency", "minor"),
    [
        ("12.50", "EUR", 1250),
        ("12.5", "EUR", 1250),
        ("0", "USD", 0),
        ("0.01", "GBP", 1),
        ("1250", "JPY", 1250),
        ("1250.00", "JPY", 1250),
        ("1.234", "KWD", 1234),
        ("20000000", "EUR", 2_000_000_000),
    ],
)
def test_amount_becomes_minor_units(amount, currency, minor):
    assert convert_to_minor(Decimal(amount), currency) == minor


@pytest.mark.parametrize(
    ("amount", "currency", "message"),
    [
        ("12.345", "EUR", "more decimals than EUR, which has 2"),
        ("0.5", "JPY", "more decimals than JPY, which has 0"),
        ("1.2345", "KWD", "more decimals than KWD, which has 3"),
        ("20000000.01", "EUR", "larger than can be kept"),
    ],
)
def test_amount_is_refused_rather_than_rounded(amount, currency, message):
    with pytest.raises(BadInput, match=message):
        convert_to_minor(Decimal(amount), currency)
