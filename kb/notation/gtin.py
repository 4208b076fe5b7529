"""Article numbers with a check digit (GTIN-8, -12, -13, -14) and what a scanner sends of them.

Issued by GS1 (General Specifications: check digit, application identifiers; from memory) and ISO/IEC
15424 (symbology identifiers such as ]E0; from memory). Stored as 14 digits. Numbers that begin with 02,
04 or 20 to 29 are given out inside one company and mean nothing elsewhere. A UPC-E code must be expanded
by the scanner: unexpanded it has eight digits like a GTIN-8.

Good: ``(01)12900000012346(10)B77``. Refused: ``0112900000012346`` (an application identifier is not
assumed without a sign of one), anything with a misread digit (the check digit tells).
"""

import re
import unicodedata
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean
from kb.notation.reading import Notation, Reading
from kb.terms import Refusal

LENGTHS = (8, 12, 13, 14)
_GROUP_SEPARATOR = "\x1d"
_PLAIN_SYMBOLOGIES = frozenset({"E0", "E4"})
_GS1_SYMBOLOGIES = frozenset({"C1", "D2", "Q3"})
# Application identifiers whose value has a fixed number of digits, and those that end at a separator.
_FIXED_LENGTHS = {"01": 14, "02": 14, "11": 6, "12": 6, "13": 6, "15": 6, "16": 6, "17": 6, "20": 2}
_OPEN_LENGTHS = frozenset({"10", "21", "22", "30", "37"})
_MAX_BATCH = 20

_GTIN = Notation("Article number", "write 8, 12, 13 or 14 digits, for example 2900000012349")


@dataclass(frozen=True, slots=True, kw_only=True)
class GtinReading(Reading):
    """An article number, left-filled with zeros to 14 digits."""

    kind: ClassVar[str] = "gtin"
    gtin14: str
    type: str
    batch: str | None = None

    @property
    def is_in_company_number(self) -> bool:
        """Whether the number is one that a company gives out for itself: never match it elsewhere."""
        prefix = self.gtin14[-8:][:2] if self.type == "GTIN-8" else self.gtin14[1:3]
        return prefix in ("02", "04") or prefix.startswith("2")


def compute_check_digit(digits: str) -> int:
    """Check digit that belongs behind the given digits.

    Example:
        >>> compute_check_digit("290000001234")
        9
    """
    weighted = (int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return -sum(weighted) % 10


def _type_of(digits: str) -> str:
    """The shortest kind of number that the leading zeros allow."""
    if len(digits) in (8, 12):
        return f"GTIN-{len(digits)}"
    full = digits.zfill(14)
    if len(digits) == 14 and full.startswith("000000"):
        return "GTIN-8"
    if full.startswith("00"):
        return "GTIN-12"
    return "GTIN-13" if full.startswith("0") else "GTIN-14"


def _check_digits(digits: str, raw: str) -> None:
    if not re.fullmatch(r"[0-9]+", digits):
        raise _GTIN.refuse(raw, "holds other than digits", reason=Refusal.NOT_RECOGNISED)
    if len(digits) not in LENGTHS:
        raise _GTIN.refuse(raw, f"has {len(digits)} digits", reason=Refusal.BAD_LENGTH)
    if not digits.strip("0"):
        raise _GTIN.refuse(raw, "is all zeros", reason=Refusal.ALL_ZERO)
    expected = compute_check_digit(digits[:-1])
    if int(digits[-1]) != expected:
        problem = f"ends in {digits[-1]} where the check digit is {expected}, so a digit is wrong"
        raise _GTIN.refuse(raw, problem, reason=Refusal.BAD_CHECK_DIGIT)


def _drop_separators(digits: str) -> str:
    return re.sub(r"[ -]", "", digits)


def _split_bracketed(text: str, raw: str) -> dict[str, str]:
    if not re.fullmatch(r"(?: ?\([0-9]{2,4}\)[^()]+)+", text):
        problem = "has brackets that hold no application identifier"
        raise _GTIN.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return {ai: value.strip() for ai, value in re.findall(r"\(([0-9]{2,4})\)([^()]+)", text)}


def _split_scanned(data: str, raw: str) -> dict[str, str]:
    """Values by application identifier in what a scanner sends behind a GS1 symbology identifier."""
    values: dict[str, str] = {}
    rest = data.strip(_GROUP_SEPARATOR)
    while rest:
        identifier, rest = rest[:2], rest[2:]
        if identifier in _FIXED_LENGTHS:
            size = _FIXED_LENGTHS[identifier]
            value, rest = rest[:size], rest[size:].removeprefix(_GROUP_SEPARATOR)
        elif identifier in _OPEN_LENGTHS:
            value, _, rest = rest.partition(_GROUP_SEPARATOR)
        else:
            problem = f"has the application identifier '{identifier}', which is not read here"
            raise _GTIN.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
        values[identifier] = value
    return values


def _reading_of(values: dict[str, str], raw: str) -> GtinReading:
    if "01" not in values:
        problem = "has no application identifier 01, so no article number"
        raise _GTIN.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    digits = _drop_separators(values["01"])
    if digits.isdigit() and len(digits) != LENGTHS[-1]:
        problem = f"has {len(digits)} digits behind 01, where 14 are due"
        raise _GTIN.refuse(raw, problem, reason=Refusal.BAD_LENGTH)
    _check_digits(digits, raw)
    batch = values.get("10")
    if batch is not None and not re.fullmatch(rf"[!-~]{{1,{_MAX_BATCH}}}", batch):
        problem = "has a batch that is not 1 to 20 printable characters"
        raise _GTIN.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return GtinReading(gtin14=digits, type=_type_of(digits), batch=batch, raw=raw)


def parse_gtin(text: str) -> GtinReading:
    """Article number in a text, typed or scanned.

    Raises:
        BadNotation: not a valid article number; ``reason`` says why.

    Example:
        >>> parse_gtin("]E02900000012349\\r").gtin14
        '02900000012349'
        >>> parse_gtin("]C10112900000012346" + "10B77").batch
        'B77'
    """
    plain = clean(text, _GTIN)
    scanned = re.fullmatch(
        r"\](..)(.*)", unicodedata.normalize("NFKC", text).strip(" \t\r\n\ufeff"), re.DOTALL
    )
    if scanned and scanned[1].upper() in _GS1_SYMBOLOGIES:
        return _reading_of(_split_scanned(scanned[2], text), text)
    if scanned and scanned[1].upper() in _PLAIN_SYMBOLOGIES:
        plain = scanned[2]
    if plain.startswith("("):
        return _reading_of(_split_bracketed(plain, text), text)
    if re.search(r"- ?-", plain):
        raise _GTIN.refuse(text, "has two hyphens in a row", reason=Refusal.NOT_RECOGNISED)
    digits = _drop_separators(plain)
    _check_digits(digits, text)
    return GtinReading(gtin14=digits.zfill(14), type=_type_of(digits), raw=text)


def format_gtin(reading: GtinReading) -> str:
    """The one spelling: as many digits as the type has; with a batch, the printed form with brackets.

    Example:
        >>> format_gtin(parse_gtin("2001 2342"))
        '20012342'
    """
    if reading.batch is not None:
        return f"(01){reading.gtin14}(10){reading.batch}"
    return reading.gtin14[-int(reading.type.removeprefix("GTIN-")) :]
