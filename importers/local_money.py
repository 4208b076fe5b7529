"""Prices as shops and suppliers write them: amounts with the file's decimal sign, perhaps with a currency."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from importers.columns import Currency, Money
from importers.local_numbers import PLAIN_NUMBER, convert_number
from importers.number_mark import NUMBER_MARK
from kb.edits.problem import shorten
from kb.errors import BadInput

_SYMBOLS = {
    "€": "EUR",
    "$": "USD",
    "£": "GBP",
    "eur": "EUR",
    "usd": "USD",
    "gbp": "GBP",
    "chf": "CHF",
    "euro": "EUR",
}
_ENDING = re.compile(r"[ \u00a0\u202f]?(?:[€£$]|[A-Z]{3})")
# Common practice, no source: a list that keeps a price back.
_ON_REQUEST = frozenset(
    (
        "on request",
        "price on request",
        "on application",
        "poa",
        "p.o.a.",
        "tba",
        "call",
        "auf anfrage",
        "a.a.",
    )
)
# Amounts with the file's decimal sign, or that came as numbers.
_PLAIN_AMOUNTS = {
    ",": re.compile(rf"[0-9]{{1,6}}(?:,[0-9]{{1,3}})?|{NUMBER_MARK}[0-9]{{1,6}}\.[0-9]{{1,3}}"),
    ".": re.compile(rf"{NUMBER_MARK}?[0-9]{{1,6}}(?:\.[0-9]{{1,3}})?"),
    None: re.compile(rf"[0-9]{{1,6}}|{NUMBER_MARK}[0-9]{{1,6}}\.[0-9]{{1,3}}"),
}


@dataclass(frozen=True, slots=True)
class Price:
    """An amount with the currency that stood beside it."""

    amount: Decimal
    currency: str


@dataclass(frozen=True, slots=True)
class LocalMoney:
    """An amount with the file's decimal sign and perhaps a currency before or behind it."""

    inner: Money
    decimal: str | None
    given_unit: str | None = None

    def parse(self, text: str) -> Price | Decimal | None:
        """The amount, with its currency where one stands beside it; None for a price on request."""
        if text.casefold() in _ON_REQUEST:
            return None
        decimal = self.decimal
        if text[0] == NUMBER_MARK:
            text, decimal = text[1:], "."
        if decimal == "." and self.given_unit is None and PLAIN_NUMBER.fullmatch(text):
            return self.inner.parse(text)
        number = text.strip("€$£ \u00a0\u202f")
        signs = {sign for sign in "€$£" if sign in text}
        words = re.findall(r"[A-Za-z]{3,4}", number)
        if words and re.fullmatch(
            r"(?:[A-Za-z]{3,4}\s*)?[-0-9.,'’ \u00a0\u202f]+(?:\s*[A-Za-z]{3,4})?", number
        ):
            number = re.sub(r"[A-Za-z]", "", number).strip()
            signs |= {word.casefold() for word in words}
        currencies = {_name_currency(sign) for sign in signs}
        if len(currencies) > 1:
            raise BadInput(f"'{shorten(text)}' names two currencies; keep one.")
        number = re.sub(rf"{re.escape(decimal)}[-–—]$", "", number) if decimal else number  # 7,- for 7
        amount = self.inner.parse(convert_number(number, decimal))
        own = currencies.pop() if currencies else None
        currency = own or (_name_currency(self.given_unit) if self.given_unit else None)
        return amount if currency is None else Price(amount, currency)


def _name_currency(sign: str) -> str:
    known = _SYMBOLS.get(sign.casefold())
    return known if known is not None else Currency().parse(sign.upper())


@dataclass(frozen=True, slots=True)
class LocalCurrency:
    """A currency by its code or sign."""

    inner: Currency

    def parse(self, text: str) -> str:
        """The code."""
        return self.inner.parse(_SYMBOLS.get(text.casefold(), text.upper()))


@dataclass(frozen=True, slots=True)
class AmountReader:
    """Reads amounts about which there is nothing to ask, one or many.

    Args:
        decimal: the file's decimal sign.
        unit: currency of the whole column, as its heading names it.
    """

    decimal: str | None
    unit: str | None

    @property
    def plain(self) -> re.Pattern[str] | None:
        """Form of a text that is an amount and nothing else."""
        return _PLAIN_AMOUNTS[self.decimal] if self.unit is None else None

    def read(self, text: str) -> Decimal:
        """The amount of a plain text."""
        return Decimal(text.lstrip(NUMBER_MARK).replace(",", "."))

    def read_many(self, texts: Sequence[str]) -> Sequence[Decimal | Price] | None:
        """Amounts read all together, with one currency for all or none; None for a closer look.

        Example:
            >>> AmountReader(",", None).read_many(["12,50 €", "7 €"])[1]
            Price(amount=Decimal('7'), currency='EUR')
        """
        joined, currency = "\n".join(texts) + "\n", self.unit
        if currency is None and texts[0][-1:].isdecimal() is False:
            ending = texts[0].lstrip(NUMBER_MARK + "0123456789.,")
            if not _ENDING.fullmatch(ending) or joined.count(ending + "\n") != len(texts):
                return None
            joined, currency = joined.replace(ending + "\n", "\n"), ending.strip()
        if joined.count("\n") != len(texts):
            return None
        if _repeat_pattern(_PLAIN_AMOUNTS[self.decimal]).fullmatch(joined) is None:
            return None
        amounts = list(map(Decimal, joined.replace(NUMBER_MARK, "").replace(",", ".").split()))
        if currency is None:
            return amounts
        try:
            code = _name_currency(currency)
        except BadInput:  # said with the cell
            return None
        return [Price(amount, code) for amount in amounts]


@cache
def _repeat_pattern(pattern: re.Pattern[str]) -> re.Pattern[str]:
    """Pattern of lines that all have a form; possessive, so that a million of them need no stack."""
    return re.compile(rf"(?:(?:{pattern.pattern})\n)++")
