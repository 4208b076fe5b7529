"""Numbers as files write them, turned into the catalogue's: decimal signs, marks between thousands, units.

Source: the inch, the pound and the ounce are exact by definition (NIST SP 811, from memory).
"""

import re
from decimal import Decimal
from typing import Any

from kb.edits.problem import shorten
from kb.errors import BadInput

PLAIN_NUMBER = re.compile(r"[0-9]{1,15}(?:\.[0-9]{1,15})?")
EXPONENT = re.compile(r"-?[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]+")
# A lead time from-to, with its unit behind.
DAY_RANGE = re.compile(r"([0-9]{1,3}) ?(?:-|–|—|to|bis|tot) ?([0-9]{1,3})( ?[^\W\d_]+\.?)?")
_STARTS_AS_NUMBER = re.compile(r"[-+]?[.,]?[0-9]")
_WITH_UNIT = re.compile(r"(-?[0-9][0-9.,'’ \u00a0\u202f]*?)\s*([A-Za-z°\"″'′µ/€$£%][^0-9]*)")

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


def convert_number(text: str, decimal: str | None) -> str:
    """A number as the catalogue writes it, out of one with the file's own marks.

    Raises:
        BadInput: the marks are not those of the file, or the file's are not known.

    Example:
        >>> convert_number("1.234,50", ","), convert_number("12 000", "."), convert_number("7,5", ",")
        ('1234.50', '12000', '7.5')
    """
    if decimal != "," and PLAIN_NUMBER.fullmatch(text) and (decimal == "." or "." not in text):
        return text
    plain = re.sub(r"(?<=[0-9])[ '’\u00a0\u202f](?=[0-9]{3}(?![0-9]))", "", text)
    if not ("," in plain or "." in plain) or not _STARTS_AS_NUMBER.match(plain):
        return plain  # the cell says what is wrong with it
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
    if EXPONENT.fullmatch(text):
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
