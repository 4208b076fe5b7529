"""Springs of the clutch and of the driven pulley: 3 x 1500 rpm; L0=90 d=4 D=50 n=6.

A rating in rpm is the engine speed at which the shoes of one certain clutch begin to grip: a habit of
the trade, comparable only within one clutch. A contra spring is written by its numbers, each behind its
sign: ``L0`` free length, ``d`` wire, ``D`` mean coil diameter (capital and small letter differ), all in mm,
``n`` active coils; in any order, any of them may be missing. A colour says nothing across makers and is
not read.

Source: rating: common practice, no source; signs as in EN 13906-1 (from memory); bands: judgement of this
project.

Good: ``L0=90 d=4 D=50 n=6``. Refused: ``L0=20 d=4 D=50 n=6`` (shorter than its own coils).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean_numbers
from kb.notation.reading import NUMBER, Notation, Reading, format_number, parse_number
from kb.terms import Refusal

RATED_RPM = (300.0, 8000.0)
COUNT = (1, 12)
_BANDS_MM = {"free_length_mm": (5.0, 400.0), "wire_mm": (0.2, 15.0), "coil_mm": (2.0, 150.0)}
_ACTIVE_COILS = (0.5, 40.0)

_SPRING = Notation("Spring", "write a rating or its numbers, for example 3 x 1500 rpm or L0=90 d=4 D=50 n=6")
_FIELDS = {"L0": "free_length_mm", "d": "wire_mm", "D": "coil_mm", "n": "active_coils"}
_SIGNS = {name: sign for sign, name in _FIELDS.items()}
_RATING = (
    rf"(?:(?P<count>[0-9]{{1,3}}) ?(?:x|pcs|pc) ?|set of (?P<set>[0-9]{{1,3}}):? ?)?"
    rf"(?P<rpm>{NUMBER}) ?(?:rpm|r/min|1/min)"
)
_NUMBER_ITEM = rf"(?P<sign>L[0o]|d|D|n) ?= ?(?P<value>{NUMBER})(?: ?mm)?"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringReading(Reading):
    """A clutch spring by its rating, a contra spring by its numbers."""

    kind: ClassVar[str] = "spring"
    count: int | None = None
    rated_rpm: float | None = None
    free_length_mm: float | None = None
    wire_mm: float | None = None
    coil_mm: float | None = None
    active_coils: float | None = None


def _check_band(value: float, band: tuple[float, float], name: str, raw: str) -> None:
    if not band[0] <= value <= band[1]:
        problem = f"has {name} {format_number(value)}, which is not within {band[0]:g} to {band[1]:g}"
        raise _SPRING.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)


def _numbers_of(plain: str, raw: str) -> dict[str, float]:
    """Labelled numbers by field."""
    if not re.fullmatch(r"(?:{0}(?: ?[,;] ?| ))*{0}".format(re.sub(r"\?P<\w+>", "?:", _NUMBER_ITEM)), plain):
        problem = "is neither a rating in rpm nor numbers behind the signs L0, d, D, n"
        raise _SPRING.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    numbers: dict[str, float] = {}
    for item in re.finditer(_NUMBER_ITEM, plain):
        name = _FIELDS[item["sign"].replace("o", "0")]
        if name in numbers:
            problem = f"gives {item['sign']} twice"
            raise _SPRING.refuse(raw, problem, reason=Refusal.CONTRADICTORY)
        numbers[name] = parse_number(item["value"])
        _check_band(numbers[name], _BANDS_MM.get(name, _ACTIVE_COILS), item["sign"], raw)
    return numbers


def _check_spring(numbers: dict[str, float], raw: str) -> None:
    """Refuse numbers that no spring can have together."""
    wire_mm = numbers.get("wire_mm", 0.0)
    solid_mm = wire_mm * numbers.get("active_coils", 0.0)
    if "coil_mm" in numbers and numbers["coil_mm"] <= wire_mm:
        raise _SPRING.refuse(raw, "has a wire thicker than its coil", reason=Refusal.CONTRADICTORY)
    if "free_length_mm" in numbers and numbers["free_length_mm"] <= solid_mm:
        problem = "is not longer than its own coils side by side"
        raise _SPRING.refuse(raw, problem, reason=Refusal.CONTRADICTORY)


def parse_spring(text: str) -> SpringReading:
    """Spring in a text.

    Raises:
        BadNotation: not a spring; ``reason`` says why.

    Example:
        >>> parse_spring("3 x 1500 rpm").rated_rpm, parse_spring("D=50, d=4").wire_mm
        (1500.0, 4.0)
    """
    cleaned = clean_numbers(text, _SPRING)
    rating = re.fullmatch(_RATING, cleaned.text, re.IGNORECASE)
    if rating:
        rated_rpm, written = parse_number(rating["rpm"]), rating["count"] or rating["set"]
        count = int(written) if written else None
        _check_band(rated_rpm, RATED_RPM, "the rating", text)
        if count is not None:
            _check_band(count, COUNT, "the count", text)
        return SpringReading(count=count, rated_rpm=rated_rpm, flags=cleaned.flags, raw=text)
    if re.fullmatch(rf"(?:[0-9]+ ?x ?)?{NUMBER}", cleaned.text):
        raise _SPRING.refuse(text, "has no unit", reason=Refusal.MISSING_UNIT)
    numbers = _numbers_of(cleaned.text, text)
    _check_spring(numbers, text)
    return SpringReading(
        free_length_mm=numbers.get("free_length_mm"),
        wire_mm=numbers.get("wire_mm"),
        coil_mm=numbers.get("coil_mm"),
        active_coils=numbers.get("active_coils"),
        flags=cleaned.flags,
        raw=text,
    )


def format_spring(reading: SpringReading) -> str:
    """The one spelling: count and rating, or L0, d, D, n in this order.

    Example:
        >>> format_spring(parse_spring("n=6 D=50 d=4 L0=90mm"))
        'L0=90 d=4 D=50 n=6'
    """
    if reading.rated_rpm is not None:
        rating = f"{format_number(reading.rated_rpm)} rpm"
        return rating if reading.count is None else f"{reading.count} x {rating}"
    values = [(sign, getattr(reading, name)) for name, sign in _SIGNS.items()]
    return " ".join(f"{sign}={format_number(value)}" for sign, value in values if value is not None)
