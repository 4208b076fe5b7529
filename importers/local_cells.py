"""Cells as shops and suppliers write them, turned into what the catalogue's cells hold.

Decimal signs, marks between thousands and orders of dates are the file's own and stated; units are converted;
what stays unclear is refused with the remedy. The plausible range is then checked as in the catalogue.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from importers.columns import (
    CellType,
    Column,
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
    Word,
)
from importers.number_mark import NUMBER_MARK
from importers.table_form import TableForm
from kb.edits.problem import shorten
from kb.errors import BadInput
from kb.rules.match.phrases import split_words, stem_word
from kb.standards.trade_words import list_trade_words
from kb.terms import PartType

UNKNOWN_MARKS = frozenset({"-", "--", "–", "—", "n/a", "N/A", "n.a.", "k.A.", "k. A.", "?", "#N/A", "#NV"})
_PLAIN = re.compile(r"[0-9]{1,15}(?:\.[0-9]{1,15})?")
_EXPONENT = re.compile(r"-?[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]+")
_WITH_UNIT = re.compile(r"(-?[0-9][0-9.,'’ \u00a0\u202f]*?)\s*([A-Za-z°\"″'′µ/€$£%][^0-9]*)")
_FORMULA = re.compile(r"=|[+\-@](?:[A-Za-z]+[(|!]|[0-9]+\+cmd)|\t=")
# What our own export puts a quotation mark before, and spreadsheets show as text.
_NEUTRALISED = re.compile(r"'(?=[=+\-@0-9\t\r\n＝＋－＠])")

_PER_MM = {"mm": 1, "millimeter": 1, "millimetre": 1, "cm": 10, "m": 1000, "in": Decimal("25.4")}
_PER_MM |= {"inch": Decimal("25.4"), '"': Decimal("25.4"), "″": Decimal("25.4"), "zoll": Decimal("25.4")}
_PER_G = {"g": 1, "gr": 1, "gram": 1, "grams": 1, "gramm": 1, "kg": 1000, "oz": Decimal("28.349523125")}
_PER_G |= {"lb": Decimal("453.59237"), "mg": Decimal("0.001")}
_DEGREE = {"°": 1, "deg": 1, "degree": 1, "degrees": 1, "grad": 1, "º": 1}
_RPM = {"rpm": 1, "r/min": 1, "1/min": 1, "u/min": 1, "min-1": 1}
_DAYS = {
    "d": 1,
    "day": 1,
    "days": 1,
    "tage": 1,
    "tag": 1,
    "t": 1,
    "dagen": 1,
    "week": 7,
    "weeks": 7,
    "wochen": 7,
    "woche": 7,
}
_PIECES = dict.fromkeys(
    ("pc", "pcs", "pieces", "piece", "stk", "stück", "st", "x", "ea", "szt", "pz", "pce"), 1
)
FACTORS: dict[str, dict[str, Any]] = {
    "mm": _PER_MM,
    "g": _PER_G,
    "°": _DEGREE,
    "r/min": _RPM,
    "days": _DAYS,
    "N·m": {"n·m": 1, "nm": 1, "n.m": 1},
    "": _PIECES,
}
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
_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})(?:[ T]00:00(?::00)?)?")
_DAY = re.compile(r"([0-9]{1,4})[./\- ]([0-9]{1,2})[./\- ]([0-9]{2,4})\.?")


# A code of plain letters and digits: no mark in it can be an exponent, a formula, "not known" or look alike.
_PLAIN_CODE = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 _-]{0,60}[A-Za-z0-9])?")
_PLAIN_AMOUNTS = {
    ",": re.compile(r"[0-9]{1,6}(?:,[0-9]{1,3})?"),
    ".": re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3})?"),
}


@dataclass(frozen=True, slots=True)
class Price:
    """An amount with the currency that stood beside it."""

    amount: Decimal
    currency: str


def refuse_formula(text: str) -> None:
    """Refuse a cell that a spreadsheet would compute."""
    if text[0] in "=+-@\t" and _FORMULA.match(text):
        raise BadInput(f"'{shorten(text)}' is a formula; paste the column as values only and save again.")


def convert_number(text: str, decimal: str | None) -> str:
    """A number as the catalogue writes it, out of one with the file's own marks.

    Raises:
        BadInput: the marks are not those of the file, or the file's are not known.

    Example:
        >>> convert_number("1.234,50", ","), convert_number("12 000", "."), convert_number("7,5", ",")
        ('1234.50', '12000', '7.5')
    """
    if decimal != "," and _PLAIN.fullmatch(text) and (decimal == "." or "." not in text):
        return text
    plain = re.sub(r"(?<=[0-9])[ '’\u00a0\u202f](?=[0-9]{3}(?![0-9]))", "", text)
    if not ("," in plain or "." in plain):
        return plain
    if decimal is None:
        raise BadInput(
            f"'{shorten(text)}' is not clear: the file shows no decimal sign; state it, point or comma."
        )
    thousands = "." if decimal == "," else ","
    if thousands in plain:
        if not re.fullmatch(
            rf"-?[0-9]{{1,3}}(?:{re.escape(thousands)}[0-9]{{3}})+(?:{re.escape(decimal)}[0-9]*)?", plain
        ):
            said = "comma" if decimal == "," else "point"
            raise BadInput(
                f"'{shorten(text)}' does not follow the file, where the decimal sign is the {said}; "
                "write it as in the other rows."
            )
        plain = plain.replace(thousands, "")
    return plain.replace(decimal, ".")


def convert_unit(text: str, unit: str, *, given: str | None, decimal: str | None) -> str:
    """The number in a cell in the column's unit.

    Args:
        text: number with or without a unit behind it.
        unit: the column's unit.
        given: unit that the heading states.
        decimal: the file's decimal sign.
    """
    if _EXPONENT.fullmatch(text):
        return text
    found = _WITH_UNIT.fullmatch(text)
    own = found[2].strip() if found is not None else given
    number = convert_number(found[1].strip() if found is not None else text, decimal)
    if own is None:
        return number
    factor = FACTORS.get(unit, {}).get(own.casefold().rstrip(".") or own)
    if factor is None:
        if found is None:
            return number
        known = ", ".join(FACTORS.get(unit, {})) or "no unit"
        raise BadInput(f"'{shorten(text)}' has '{shorten(own)}' behind the number; read here are: {known}.")
    if factor == 1 or not re.fullmatch(r"-?[0-9]+(?:\.[0-9]+)?", number):
        return number
    value = (Decimal(number) * factor).quantize(Decimal("0.000001"))
    return f"{value:f}".rstrip("0").rstrip(".") if "." in f"{value:f}" else f"{value:f}"


@dataclass(frozen=True, slots=True)
class LocalNumber:
    """A number with the file's decimal sign and any unit of its quantity."""

    inner: Number | WholeNumber
    decimal: str | None
    given_unit: str | None = None

    def parse(self, text: str) -> float | int:
        """The number in the column's unit, within its range."""
        decimal = self.decimal
        if text[0] == NUMBER_MARK:
            text, decimal = text[1:], "."
        if decimal == "." and self.given_unit is None and _PLAIN.fullmatch(text):
            plain = text
        else:
            plain = convert_unit(text, self.inner.unit, given=self.given_unit, decimal=decimal)
        if isinstance(self.inner, WholeNumber):
            whole, _, rest = plain.partition(".")
            if rest and not rest.strip("0"):
                plain = whole
        return self.inner.parse(plain)


@dataclass(frozen=True, slots=True)
class LocalMoney:
    """An amount with the file's decimal sign and perhaps a currency before or behind it."""

    inner: Money
    decimal: str | None
    given_unit: str | None = None

    def parse(self, text: str) -> Price | Decimal:
        """The amount, with its currency where one stands beside it."""
        decimal = self.decimal
        if text[0] == NUMBER_MARK:
            text, decimal = text[1:], "."
        if decimal == "." and self.given_unit is None and _PLAIN.fullmatch(text):
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
        number = re.sub(r",[-–—]$", ",00", number) if decimal == "," else number
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
class LocalDate:
    """A day in the stated order; ISO dates in any case. Two digits of a year are of this century."""

    inner: IsoDate
    order: str | None

    def parse(self, text: str) -> date:
        """The day."""
        iso = _ISO.fullmatch(text)
        if iso is not None:
            return self.inner.parse(f"{iso[1]}-{iso[2]:0>2}-{iso[3]:0>2}")
        found = _DAY.fullmatch(text)
        if found is None:
            return self.inner.parse(text)
        if self.order is None:
            raise BadInput(
                f"'{shorten(text)}' is not clear: the order of day and month is not stated; "
                "state day-month-year or month-day-year."
            )
        parts = dict(zip(self.order.split("-"), found.groups(), strict=True))
        year = parts["year"] if len(parts["year"]) == 4 else f"20{parts['year']:0>2}"
        return self.inner.parse(f"{year}-{parts['month']:0>2}-{parts['day']:0>2}")


@dataclass(frozen=True, slots=True)
class LocalText:
    """Text, codes and numbers of articles: the mark that keeps spreadsheets from computing is taken off."""

    inner: CellType

    def parse(self, text: str) -> Any:
        """The text."""
        text = text.removeprefix(NUMBER_MARK)
        if text[0] == "'" and _NEUTRALISED.match(text):
            return self.inner.parse(text[1:])
        return self.inner.parse(text)


@dataclass(frozen=True, slots=True)
class LocalGtin:
    """An article number; one that a spreadsheet wrote with an exponent is refused."""

    inner: Gtin

    def parse(self, text: str) -> str:
        """The number of 14 digits."""
        if _EXPONENT.fullmatch(text):
            raise BadInput(
                f"'{shorten(text)}' was spoiled by a spreadsheet; "
                "format the column as text and scan the number again."
            )
        return self.inner.parse(text[1:] if _NEUTRALISED.match(text) else text)


@dataclass(frozen=True, slots=True)
class LocalWord:
    """A word of a closed list, or for part types one of the trade's words for it."""

    inner: Word

    def parse(self, text: str) -> str:
        """The word of the list."""
        folded = "_".join(text.casefold().replace("-", " ").replace("_", " ").split())
        if folded in self.inner.words:
            return folded
        if str(PartType.DRIVE_BELT) in self.inner.words:
            found = find_part_types(text)
            if len(found) == 1:
                return found[0]
        return self.inner.parse(text)


@cache
def _list_part_type_names() -> dict[frozenset[str], frozenset[str]]:
    names: dict[frozenset[str], set[str]] = {}
    for part_type, name in list_trade_words():
        if part_type:
            names.setdefault(frozenset(map(stem_word, split_words(name))), set()).add(part_type)
    return {words: frozenset(types) for words, types in names.items()}


def find_part_types(text: str) -> list[str]:
    """Part types that the trade calls by exactly these words.

    Example:
        >>> find_part_types("Drive belts"), find_part_types("gizmo")
        (['drive_belt'], [])
    """
    words = frozenset(map(stem_word, split_words(text)))
    return sorted(_list_part_type_names().get(words, ()))


@dataclass(frozen=True, slots=True)
class LocalFlag:
    """Yes or no in the words that people write."""

    inner: Flag

    def parse(self, text: str) -> bool:
        """True for yes."""
        words = {
            "yes": "1",
            "y": "1",
            "ja": "1",
            "true": "1",
            "oui": "1",
            "x": "1",
            "no": "0",
            "n": "0",
            "nein": "0",
        }
        words |= {"false": "0", "non": "0"}
        return self.inner.parse(words.get(text.casefold(), text))


@dataclass(frozen=True, slots=True)
class LocalCell:
    """Any cell: marks for "not known" are empty cells.

    ``plain`` is the form of texts about which there is nothing to ask, ``read_plain`` their value: most cells
    of a long list are such.
    """

    inner: CellType
    plain: re.Pattern[str] | None = None
    read_plain: Callable[[str], Any] = str

    def parse(self, text: str) -> Any:
        """The value, or None for a mark of "not known"."""
        if self.plain is not None and self.plain.fullmatch(text):
            return self.read_plain(text)
        if len(text) < 6 and text in UNKNOWN_MARKS:
            return None
        if text[0] in "=+-@":
            refuse_formula(text)
        return self.inner.parse(text)


Builder = Callable[[Any, TableForm, str | None], CellType]
_BUILDERS: dict[type, Builder] = {
    Number: lambda cell, form, unit: LocalNumber(cell, form.decimal, unit),
    WholeNumber: lambda cell, form, unit: LocalNumber(cell, form.decimal, unit),
    Money: lambda cell, form, unit: LocalMoney(cell, form.decimal, unit),
    Currency: lambda cell, _form, _unit: LocalCurrency(cell),
    IsoDate: lambda cell, form, _unit: LocalDate(cell, form.dates),
    Gtin: lambda cell, _form, _unit: LocalGtin(cell),
    Word: lambda cell, _form, _unit: LocalWord(cell),
    Flag: lambda cell, _form, _unit: LocalFlag(cell),
    Text: lambda cell, _form, _unit: LocalText(cell),
    Name: lambda cell, _form, _unit: LocalText(cell),
    PartNumber: lambda cell, _form, _unit: LocalText(cell),
}


def build_local_column(column: Column, form: TableForm, unit: str | None) -> Column:
    """A column that reads cells in the form of a file."""
    build = _BUILDERS.get(type(column.cell))
    if build is None:
        return column
    inner = build(column.cell, form, unit)
    if isinstance(column.cell, Name | PartNumber) and not getattr(column.cell, "lower_case", False):
        return replace(column, cell=LocalCell(inner, _PLAIN_CODE))
    if isinstance(column.cell, Money) and unit is None and form.decimal in _PLAIN_AMOUNTS:
        return replace(column, cell=LocalCell(inner, _PLAIN_AMOUNTS[form.decimal], _read_plain_amount))
    return replace(column, cell=LocalCell(inner))


def _read_plain_amount(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))
