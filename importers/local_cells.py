"""Cells as shops and suppliers write them, turned into what the catalogue's cells hold.

Decimal signs, marks between thousands and orders of dates are the file's own and stated; units are converted;
what stays unclear is refused with the remedy. The plausible range is then checked as in the catalogue.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
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
from importers.local_money import AmountReader, LocalCurrency, LocalMoney
from importers.local_numbers import DAY_RANGE, EXPONENT, PLAIN_NUMBER, convert_unit
from importers.number_mark import NUMBER_MARK
from importers.table_form import TableForm
from kb.edits.longer_end import LongerEnd
from kb.edits.problem import shorten
from kb.errors import BadInput
from kb.rules.match.phrases import split_words, stem_word
from kb.standards.trade_words import list_trade_words
from kb.terms import PartType

UNKNOWN_MARKS = frozenset({"-", "--", "–", "—", "n/a", "N/A", "n.a.", "k.A.", "k. A.", "?", "#N/A", "#NV"})
_FORMULA = re.compile(r"=|[+\-@](?:[A-Za-z]+[(|!]|[0-9]+\+cmd)|\t=")
# What our own export puts a quotation mark before, and spreadsheets show as text.
_NEUTRALISED = re.compile(r"'(?=[=+\-@0-9\t\r\n＝＋－＠])")

# The time of a till or of a spreadsheet behind the day is not needed.
_TIME = r"(?:[ T][0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?)?"
_ISO = re.compile(rf"([0-9]{{4}})-([0-9]{{1,2}})-([0-9]{{1,2}}){_TIME}")
_DAY = re.compile(rf"([0-9]{{1,4}})[./\- ]([0-9]{{1,2}})[./\- ]([0-9]{{2,4}})\.?{_TIME}")


# A code of plain letters and digits: no mark in it can be an exponent, a formula, "not known" or look alike.
_PLAIN_CODE = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 _-]{0,60}[A-Za-z0-9])?")
_CODE_CHARACTERS = 62
_CODE_MARKS = str.maketrans("-_", "  ")


def read_plain_codes(texts: Sequence[str]) -> Sequence[str] | None:
    """Codes that are their own value, looked at all together: a tenth of the time of one by one.

    Returns:
        The texts; None when one of them is no plain code.

    Example:
        >>> read_plain_codes(["B-743", "7"]), read_plain_codes(["-7"]), read_plain_codes(["B-743", ""])
        (['B-743', '7'], None, None)
    """
    joined = "\n" + "\n".join(texts).translate(_CODE_MARKS) + "\n"
    are_plain = (
        joined.isascii()
        and joined.count("\n") == len(texts) + 1
        and not any(bare_end in joined for bare_end in ("\n ", " \n", "\n\n"))
        and joined.replace("\n", "").replace(" ", "").isalnum()
        and max(map(len, texts)) <= _CODE_CHARACTERS
    )
    return texts if are_plain else None


def refuse_formula(text: str) -> None:
    """Refuse a cell that a spreadsheet would compute."""
    if text[0] in "=+-@\t" and _FORMULA.match(text):
        raise BadInput(f"'{shorten(text)}' is a formula; paste the column as values only and save again.")


@dataclass(frozen=True, slots=True)
class LocalNumber:
    """A number with the file's decimal sign and any unit of its quantity."""

    inner: Number | WholeNumber
    decimal: str | None
    given_unit: str | None = None

    def parse(self, text: str) -> float | int:
        """The number in the column's unit, within its range; of a range of days the longer end."""
        if self.inner.unit == "days" and (ends := DAY_RANGE.fullmatch(text)) is not None:
            shorter, longer = (self._parse_one(f"{end}{ends[3] or ''}") for end in ends.groups()[:2])
            if shorter < longer:
                return LongerEnd(int(longer), text)
        return self._parse_one(text)

    def _parse_one(self, text: str) -> float | int:
        decimal = self.decimal
        if text[0] == NUMBER_MARK:
            text, decimal = text[1:], "."
        if decimal == "." and self.given_unit is None and PLAIN_NUMBER.fullmatch(text):
            plain = text
        else:
            plain = convert_unit(text, self.inner.unit, given=self.given_unit, decimal=decimal)
        if isinstance(self.inner, WholeNumber):
            whole, _, rest = plain.partition(".")
            if rest.strip("0") and PLAIN_NUMBER.fullmatch(plain):
                raise BadInput(f"'{shorten(text)}' is not a whole number; write it without decimals.")
            if rest and not rest.strip("0"):
                plain = whole
        return self.inner.parse(plain)


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
                "state the order of dates: day-month-year or month-day-year."
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
        if EXPONENT.fullmatch(text):
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
    of a long list are such. ``read_many`` reads texts that are all plain at once.
    """

    inner: CellType
    plain: re.Pattern[str] | None = None
    read_plain: Callable[[str], Any] = str
    read_many: Callable[[Sequence[str]], Sequence[Any] | None] | None = None

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
        return replace(column, cell=LocalCell(inner, _PLAIN_CODE, read_many=read_plain_codes))
    if isinstance(column.cell, Money):
        reader = AmountReader(form.decimal, unit)
        return replace(column, cell=LocalCell(inner, reader.plain, reader.read, reader.read_many))
    return replace(column, cell=LocalCell(inner))
