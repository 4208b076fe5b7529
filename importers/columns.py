"""What a cell may hold. Each cell type turns text into a value, or says what is wrong and what to do.

Numbers are matched digit by digit before they are converted: ``nan``, ``1e9``, ``1_000``, digits of other
scripts, units and decimal commas are refused with the remedy, never read as something near.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Protocol

from kb.edits.problem import shorten
from kb.errors import BadInput, BadNotation
from kb.notation.gtin import parse_gtin
from kb.notation.part_number import part_number_key
from kb.rules.nearest import find_nearest

DESCRIPTION_CHARACTERS = 2_000
PART_NUMBER_CHARACTERS = 64
NAME_CHARACTERS = 200
LONGEST_NUMBER = 15

_LETTER_OR_DIGIT = re.compile(r"[0-9A-Za-z]")
_NUMBER = re.compile(r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?")
_WHOLE_NUMBER = re.compile(r"-?[0-9]{1,15}")
_DECIMAL_COMMA = re.compile(r"-?[0-9]+,[0-9]+")
_WITH_UNIT = re.compile(r"(-?[0-9]+(?:[.,][0-9]+)?)\s*([^\W\d_][^\s0-9]*|[°%\"'″′])")
_EXPONENT = re.compile(r"-?[0-9.]+[eE][+-]?[0-9]+")
_THOUSANDS = re.compile(r"-?[0-9]+(?:[ _'’\u00a0\u202f,.][0-9]{3})+(?:[.,][0-9]+)?")
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_CURRENCY = re.compile(r"[A-Z]{3}")

# Category letters of characters that cannot be seen or that change the order of what is seen.
_HIDDEN_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_LOOK_ALIKE_SCRIPTS = ("CYRILLIC", "GREEK", "ARMENIAN", "CHEROKEE")


class CellType(Protocol):
    """Turns the trimmed, non-empty text of a cell into a value, or raises BadInput."""

    def parse(self, text: str) -> Any:
        """Value of the cell."""
        ...


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a sheet.

    Args:
        name: its heading.
        cell: what its cells hold.
        required: a row without it says nothing and is refused.
        field: the value's name where that is not the heading.
        remedy: what to write where a required cell is empty.
    """

    name: str
    cell: CellType
    required: bool = False
    field: str = ""
    remedy: str = ""

    @property
    def value_name(self) -> str:
        """Name of the value in the row that is handed on."""
        return self.field or self.name


def _refuse_hidden(text: str, *, line_ends: bool) -> None:
    for character in text:
        if line_ends and character == "\n":
            continue
        if unicodedata.category(character) in _HIDDEN_CATEGORIES or character == "\ufffd":
            name = unicodedata.name(character, "control character")
            raise BadInput(
                f"'{shorten(text)}' holds the character U+{ord(character):04X} ({name.lower()}), "
                "which cannot be seen or is damaged; type the text again without it."
            )


@dataclass(frozen=True, slots=True)
class Text:
    """Words for people; line ends are allowed only in notes."""

    limit: int = DESCRIPTION_CHARACTERS
    line_ends: bool = True

    def parse(self, text: str) -> str:
        """The text as given, without blanks around it."""
        if len(text) > self.limit:
            raise BadInput(
                f"'{shorten(text)}' has {len(text)} characters; at most {self.limit} are kept; shorten it."
            )
        if not text.isprintable() or "\ufffd" in text:
            text = text.replace("\r\n", "\n")
            _refuse_hidden(text, line_ends=self.line_ends)
        return text


@dataclass(frozen=True, slots=True)
class Name:
    """A code or name by which rows are found: one line; NFKC makes equal what looks equal."""

    limit: int = NAME_CHARACTERS
    lower_case: bool = False

    def parse(self, text: str) -> str:
        """The name in its one spelling."""
        text = Text(self.limit, line_ends=False).parse(text)
        if not text.isascii():
            text = unicodedata.normalize("NFKC", text).strip()
        if self.lower_case and text != text.lower():
            raise BadInput(
                f"'{shorten(text)}' has upper-case letters; codes are lower-case; "
                f"write '{shorten(text.lower())}'."
            )
        return text


@dataclass(frozen=True, slots=True)
class PartNumber:
    """A maker's part number: NFKC, no hidden characters, letters of one script only."""

    limit: int = PART_NUMBER_CHARACTERS

    def parse(self, text: str) -> str:
        """The part number as printed."""
        text = Name(self.limit).parse(text)
        if not text.isascii():
            self._refuse_look_alikes(text)
        if _LETTER_OR_DIGIT.search(text) is None and not part_number_key(text):
            raise BadInput(
                f"Part number '{shorten(text)}' has neither letters nor digits; "
                "write the number as printed on the part."
            )
        if _EXPONENT.fullmatch(text) and "+" in text:
            raise BadInput(
                f"Part number '{text}' looks spoiled by a spreadsheet; "
                "format the column as text and type it again."
            )
        return text

    def _refuse_look_alikes(self, text: str) -> None:
        scripts = {c: unicodedata.name(c, "").split(" ")[0] for c in text if c.isalpha()}
        if "LATIN" not in scripts.values():
            return
        for character, script in scripts.items():
            if script in _LOOK_ALIKE_SCRIPTS:
                raise BadInput(
                    f"Part number '{shorten(text)}' mixes Latin letters with U+{ord(character):04X} "
                    f"({unicodedata.name(character).lower()}); type it again on one keyboard."
                )


def _explain_number(text: str, unit: str, *, is_whole: bool = False) -> str:
    fault = _find_fault(text, unit)
    if fault is None:
        example = "digits with a decimal point, for example 12.5"
        if is_whole:
            example = f"a whole number{f' of {unit}' if unit else ''}, for example 12"
        fault = f"is not a number; write {example}, or leave the cell empty where it is not known"
    return f"'{shorten(text)}' {fault}."


def _find_fault(text: str, unit: str) -> str | None:
    """What is wrong with the text of a number, and what to write; the first fault that fits."""
    with_unit = _WITH_UNIT.fullmatch(text)
    digits = text.lstrip("-").replace(".", "", 1)
    faults: tuple[tuple[object, str], ...] = (
        (
            _DECIMAL_COMMA.fullmatch(text),
            f"has a decimal comma; write {shorten(text.replace(',', '.'))} with a decimal point",
        ),
        (_EXPONENT.fullmatch(text), "is written with an exponent; write all digits with a decimal point"),
        (
            with_unit,
            f"has '{with_unit and shorten(with_unit[2])}' after the number; "
            f"write {f'the number in {unit}' if unit else 'the number alone'} without a unit",
        ),
        (
            any(character.isdigit() and character not in "0123456789" for character in text),
            "has digits other than 0 to 9; write it with the digits 0 to 9",
        ),
        (_THOUSANDS.fullmatch(text), "has marks between thousands; write the digits without them"),
        (len(digits) > LONGEST_NUMBER and digits.isdigit(), "has more than 15 digits; check it"),
    )
    return next((sentence for found, sentence in faults if found), None)


def _name_unit(unit: str) -> str:
    return f" {unit}" if unit else ""


@dataclass(frozen=True, slots=True)
class Number:
    """A number in a plausible range, ends included unless ``above`` asks for more than ``low``."""

    low: float
    high: float
    unit: str = ""
    above: bool = False

    def parse(self, text: str) -> float:
        """The number as a float."""
        if _NUMBER.fullmatch(text) is None:
            raise BadInput(_explain_number(text, self.unit))
        value = float(Decimal(text))
        if not (self.low <= value <= self.high) or (self.above and value == self.low):
            low = f"above {self.low:g}" if self.above else f"{self.low:g}"
            raise BadInput(
                f"{text}{_name_unit(self.unit)} is outside the plausible range, "
                f"{low} to {self.high:g}{_name_unit(self.unit)}; check the value and its unit."
            )
        return value


@dataclass(frozen=True, slots=True)
class WholeNumber:
    """A whole number in a plausible range, ends included."""

    low: int
    high: int
    unit: str = ""

    def parse(self, text: str) -> int:
        """The number as an int."""
        if _WHOLE_NUMBER.fullmatch(text) is None:
            if _NUMBER.fullmatch(text) is not None:
                raise BadInput(f"'{shorten(text)}' is not a whole number; write it without decimals.")
            raise BadInput(_explain_number(text, self.unit, is_whole=True))
        value = int(text)
        if not self.low <= value <= self.high:
            raise BadInput(
                f"{text}{_name_unit(self.unit)} is outside the plausible range, {self.low} to "
                f"{self.high}{_name_unit(self.unit)}; check the value."
            )
        return value


@dataclass(frozen=True, slots=True)
class WholeNumberOf:
    """One of a few whole numbers."""

    numbers: tuple[int, ...]

    def parse(self, text: str) -> int:
        """The number as an int."""
        if text not in {str(number) for number in self.numbers}:
            accepted = " or ".join(str(number) for number in self.numbers)
            raise BadInput(f"'{shorten(text)}' is not accepted here; write {accepted}.")
        return int(text)


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a closed list."""

    words: tuple[str, ...]

    def parse(self, text: str) -> str:
        """The word."""
        if text in self.words:
            return text
        nearest = find_nearest(text, self.words, limit=1)
        meant = f"; the nearest is '{nearest[0]}'" if nearest else ""
        raise BadInput(
            f"'{shorten(text)}' is not an accepted word; accepted are {', '.join(self.words)}{meant}."
        )


def build_word(words: type[StrEnum] | Iterable[str], *, but: Iterable[str] = ()) -> Word:
    """Cell type of a closed word list, leaving some out."""
    left_out = set(but)
    return Word(tuple(str(word) for word in words if str(word) not in left_out))


@dataclass(frozen=True, slots=True)
class Flag:
    """0 for no, 1 for yes."""

    def parse(self, text: str) -> bool:
        """True for 1."""
        if text not in ("0", "1"):
            raise BadInput(
                f"'{shorten(text)}' is not 0 or 1; write 1 for yes, 0 for no, nothing for not known."
            )
        return text == "1"


@dataclass(frozen=True, slots=True)
class IsoDate:
    """A day as YYYY-MM-DD."""

    first: date = field(default=date(1900, 1, 1))
    last: date = field(default=date(2199, 12, 31))

    def parse(self, text: str) -> date:
        """The day."""
        found = _DATE.fullmatch(text)
        if found is None:
            raise BadInput(f"'{shorten(text)}' is not a date; write YYYY-MM-DD, for example 2026-01-31.")
        try:
            day = date(int(found[1]), int(found[2]), int(found[3]))
        except ValueError as error:
            raise BadInput(f"'{text}' is not a day of the calendar; check month and day.") from error
        if not self.first <= day <= self.last:
            raise BadInput(f"'{text}' is outside {self.first} to {self.last}; check the year.")
        return day


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in the main unit of a currency; converted to minor units once the currency is known."""

    def parse(self, text: str) -> Decimal:
        """The exact amount, zero or above."""
        if _NUMBER.fullmatch(text) is None:
            raise BadInput(_explain_number(text, ""))
        amount = Decimal(text)
        if amount < 0 or amount >= 10_000_000:
            raise BadInput(f"Amount {text} is outside 0 to 10000000; check it.")
        return amount


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency code of three capital letters (ISO 4217)."""

    def parse(self, text: str) -> str:
        """The code."""
        if _CURRENCY.fullmatch(text) is None:
            raise BadInput(
                f"'{shorten(text)}' is not a currency code; write three capital letters, for example EUR."
            )
        return text


@dataclass(frozen=True, slots=True)
class Gtin:
    """An article number of 8, 12, 13 or 14 digits with its check digit; kept as 14 digits."""

    def parse(self, text: str) -> str:
        """The number filled with zeros to 14 digits."""
        if _EXPONENT.fullmatch(text):
            raise BadInput(
                f"'{shorten(text)}' was spoiled by a spreadsheet; "
                "format the column as text and scan the number again."
            )
        try:
            return str(parse_gtin(text).gtin14)
        except BadNotation as error:
            raise BadInput(str(error)) from error
