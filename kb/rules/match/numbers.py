"""Sizes as number tokens: every number counts by itself, in any order, with its unit beside it.

A person writes 788x17-28, 28 x 788 x 17 or 788/17/28 for one belt, so the order is not used. A unit
gives a second token, so that a wrong or missing unit weakens a match and does not lose the row.

Example:
    >>> format_number_token("17.50"), format_number_token("12", "v")
    ('n17p5', 'n12v')
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from kb.units import MM_PER_INCH

UNITS: dict[str, str] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters", "mil", "mils"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("g", "gr", "gm", "gms", "gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos"), "kg"),
    **dict.fromkeys(("v", "volt", "volts"), "v"),
    **dict.fromkeys(("ah", "amphour", "amphours"), "ah"),
    **dict.fromkeys(("w", "watt", "watts"), "w"),
    **dict.fromkeys(("rpm",), "rpm"),
    **dict.fromkeys(("deg", "degree", "degrees"), "deg"),
    **dict.fromkeys(("t", "teeth", "tooth"), "t"),
    **dict.fromkeys(("cc", "ccm"), "cc"),
    **dict.fromkeys(("ml",), "ml"),
    **dict.fromkeys(("l", "ltr", "litre", "litres", "liter", "liters"), "l"),
    **dict.fromkeys(("inch", "inches"), "in"),
    **dict.fromkeys(("pc", "pcs", "piece", "pieces", "off"), "pc"),
    **dict.fromkeys(("stroke", "strokes"), "stroke"),
    **dict.fromkeys(("nm",), "nm"),
    **dict.fromkeys(("af",), "af"),
}
"""Spelling of a unit to its short name. A number without one is taken as millimetres."""

ATTACHED_UNITS = {**UNITS, "in": "in"}
ONLY_TYPED = frozenset({"stroke", "in", "pc"})
"""Units whose number is no size of the part (4-stroke, 12 inch wheel, set of 6): no plain token in a row."""

WRONG_UNIT_FACTOR = 0.85
_INCH_TOLERANCE_MM = 0.13
_INCH_STEPS_MM = (1.0, 0.5, 0.25, 0.1)
_MAX_DIGITS = 14  # as many as an article number has
_DECIMAL = re.compile(r"[0-9]{1,9}\.[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written, its unit (or None), and for inches the millimetres it may stand for."""

    text: str
    unit: str | None = None
    inch_readings: tuple[str, ...] = ()


def format_number(text: str) -> str:
    """A number in its one spelling: no leading or trailing zeros.

    Example:
        >>> format_number("017.50"), format_number("20.0"), format_number("000")
        ('17.5', '20', '0')
    """
    whole, _, fraction = text.partition(".")
    whole = whole.lstrip("0")[:_MAX_DIGITS] or "0"
    fraction = fraction[:_MAX_DIGITS].rstrip("0")
    return f"{whole}.{fraction}" if fraction else whole


def format_number_token(text: str, unit: str = "") -> str:
    """Index token of a number: letters and digits only; the point is written p."""
    return "n" + format_number(text).replace(".", "p") + unit


def convert_number_token(token: str) -> float | None:
    """Value of a plain number token, None for any other token.

    Example:
        >>> convert_number_token("n17p5"), convert_number_token("n12v"), convert_number_token("n21x2")
        (17.5, None, None)
    """
    if not token.startswith("n") or not token[1:].replace("p", "", 1).isdigit():
        return None
    return float(token[1:].replace("p", "."))


def read_inches(text: str) -> tuple[str, ...]:
    """Millimetre sizes that a decimal number of inches may stand for, nearest first.

    Args:
        text: the number before the inch mark.

    Returns:
        Sizes in steps of 1, 0.5, 0.25 and 0.1 mm, each within 0.13 mm of the exact conversion.

    Source: 1 inch = 25.4 mm, exact (see ``kb.units``); steps and tolerance are judgement of this project.

    Example:
        >>> read_inches("0.69"), read_inches("37.05")
        (('17.5',), ('941.1', '941'))
    """
    if not _DECIMAL.fullmatch(text):
        return ()
    exact_mm = float(text) * float(MM_PER_INCH)
    found: dict[str, float] = {}
    for step_mm in _INCH_STEPS_MM:
        rounded_mm = round(exact_mm / step_mm) * step_mm
        if abs(rounded_mm - exact_mm) <= _INCH_TOLERANCE_MM:
            found.setdefault(format_number(f"{rounded_mm:.2f}"), abs(rounded_mm - exact_mm))
    return tuple(sorted(found, key=found.__getitem__)[:3])


def is_decimal(text: str) -> bool:
    """Whether the number is written with a decimal point."""
    return "." in text


def list_row_tokens(numbers: Iterable[Number]) -> list[str]:
    """All tokens of a row's numbers: plain, with unit, inch readings, and one for each repetition.

    Example:
        >>> list_row_tokens([Number("21"), Number("21"), Number("6", "v")])
        ['n21', 'n21x2', 'n6', 'n6v']
    """
    seen: dict[str, int] = {}
    tokens: list[str] = []
    for number in numbers:
        plain = format_number_token(number.text)
        if number.unit not in ONLY_TYPED:
            count = seen[plain] = seen.get(plain, 0) + 1
            tokens.append(plain if count == 1 else f"{plain}x{count}")
        if number.unit and number.unit != "mm":
            tokens.append(plain + number.unit)
        tokens.extend(map(format_number_token, number.inch_readings))
    return tokens


def list_question_alternatives(number: Number, occurrence: int) -> tuple[tuple[str, float], ...]:
    """Tokens that answer a question's number, each with how good an answer it is (0..1).

    Args:
        number: the number with its unit.
        occurrence: 1 for the first time it stands in the question, 2 for the second ...

    Example:
        >>> list_question_alternatives(Number("12", "v"), 1)
        (('n12v', 1.0), ('n12', 0.85))
    """
    plain = format_number_token(number.text)
    again = plain if occurrence == 1 else f"{plain}x{occurrence}"
    if number.inch_readings:
        inches = [(format_number_token(text), 1.0) for text in number.inch_readings]
        return (*inches, (plain, WRONG_UNIT_FACTOR))
    if number.unit in (None, "mm") or occurrence > 1:
        return ((again, 1.0),)
    return ((plain + str(number.unit), 1.0), (plain, WRONG_UNIT_FACTOR))


def format_size_code(numbers: Iterable[Number]) -> str:
    """The numbers of a row, largest first, as one code: identity of a size, for joins and display.

    Example:
        >>> format_size_code([Number("17.5"), Number("788"), Number("28")])
        '788x28x17.5'
    """
    texts = [format_number(n.text) for n in numbers if n.unit in (None, "mm", "g", "deg")]
    return "x".join(sorted(texts, key=float, reverse=True))
