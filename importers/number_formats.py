"""What the number format of a workbook's cell says of its number: leading zeros, a currency beside it."""

import re
from typing import NamedTuple

# A sign that several countries share says nothing without its locale.
_SIGNS = {"€": "EUR", "£": "GBP"}
_US_ENGLISH = "409"
# Words in quotes may be anything, pieces for example; these are currencies (ISO 4217).
_WORDS = frozenset(
    ("EUR", "USD", "GBP", "CHF", "PLN", "CZK", "HUF", "RON", "SEK", "NOK", "DKK", "JPY", "CNY", "TWD", "INR")
)
_BRACKETED = re.compile(r"\[\$([^\]-]*)(?:-([0-9A-Fa-f]+))?[^\]]*\]")
_QUOTED_WORD = re.compile(r'"\s*([A-Z]{3})\s*"')


class NumberFormat(NamedTuple):
    """A number format.

    Args:
        zeros: zeros and marks that fill a code up, ``000-000`` for example; empty for other formats.
        currency: code of the currency shown beside the number; empty for none.
    """

    zeros: str = ""
    currency: str = ""

    def write(self, value: float, text: str) -> str:
        """Text of a cell in this format.

        Args:
            value: the number.
            text: its text without a format.
        """
        if self.zeros and value >= 0 and float(value).is_integer():
            return fill_format(self.zeros, str(int(value)))
        return f"{text} {self.currency}" if self.currency else text


def parse_number_format(code: str) -> NumberFormat | None:
    """What a format code of a workbook says; None for a format that says nothing of the kind.

    Example:
        >>> parse_number_format("000-000;@"), parse_number_format('#,##0.00 [$€-407]').currency
        (NumberFormat(zeros='000-000', currency=''), 'EUR')
        >>> parse_number_format("0.00"), parse_number_format('0 "STK"')
        (None, None)
    """
    first = code.partition(";")[0]
    currency = _find_currency(first)
    if currency:
        return NumberFormat(currency=currency)
    zeros = first.replace('"', "").replace("\\", "")
    if zeros.strip("0- ") == "" and zeros.count("0") > 1:
        return NumberFormat(zeros=zeros.strip())
    return None


def _find_currency(code: str) -> str:
    found = _BRACKETED.search(code)
    if found is not None:
        sign, locale = found[1].strip(), (found[2] or "").lstrip("0")
        if sign in ("$", "US$") and (locale == _US_ENGLISH or sign == "US$"):
            return "USD"
        return sign.upper() if re.fullmatch(r"[A-Za-z]{3}", sign) else _SIGNS.get(sign, "")
    word = _QUOTED_WORD.search(code)
    if word is not None and word[1] in _WORDS:
        return word[1]
    signs = {name for sign, name in _SIGNS.items() if sign in code}
    return signs.pop() if len(signs) == 1 else ""


def fill_format(zeros: str, digits: str) -> str:
    """Digits put into a format of zeros and marks.

    Example:
        >>> fill_format("000-000", "7123"), fill_format("000", "12345")
        ('007-123', '12345')
    """
    places = zeros.count("0")
    left = list(digits.zfill(places))
    extra = "".join(left[: len(left) - places])
    left = left[len(left) - places :]
    return extra + "".join(left.pop(0) if mark == "0" else mark for mark in zeros)
