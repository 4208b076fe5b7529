"""Torques as manuals print them: 8-12 N.m, 45±5 N.m, 4.0 kgf.m, 30 lbf.ft, with conversions in brackets.

A reading says how tight, not which fastener, whether oiled, nor whether a nut is single-use. Pounds and
kilograms written for pounds-force and kilograms-force are read as forces and flagged.

Source: units: SI Brochure, NIST SP 811 (from memory, conversions exact in ``kb.units``); spellings:
common practice, no source; the 3 % between a value and its conversion: judgement of this project.

Good: ``40 N.m (4.1 kgf.m, 30 lbf.ft)``. Refused: ``40`` (no unit), ``40 N.m (6.5 kgf.m)`` (they differ).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.terms import Refusal
from kb.units import NM_PER_KGF_CM, NM_PER_KGF_M, NM_PER_LBF_FT, NM_PER_LBF_IN

SMALLEST_NM = 0.01
LARGEST_NM = 2000.0
LARGEST_DEVIATION = 0.03
_DECIMALS = 2
_HALF_OF_LAST_DECIMAL = 0.0049

_TORQUE = Notation("Torque", "write a value or a range and N.m, kgf.m, kgf.cm, lbf.ft or lbf.in, "
                   "for example 8-12 N.m")  # fmt: skip
_NM_PER_UNIT = {
    "N.m": 1.0,
    "kgf.m": float(NM_PER_KGF_M),
    "kgf.cm": float(NM_PER_KGF_CM),
    "lbf.ft": float(NM_PER_LBF_FT),
    "lbf.in": float(NM_PER_LBF_IN),
}
_S = r" ?[-.x]? ?"
_POUND = r"(?:lbf|lbs?|pounds?)"
# Spellings in lower case, with the canonical name and whether a force was written as a mass.
_UNITS = (
    (rf"n{_S}m|newton{_S}met(?:er|re)s?", "N.m", False),
    (rf"kgf{_S}m", "kgf.m", False),
    (rf"kgf{_S}cm", "kgf.cm", False),
    (rf"lbf{_S}ft|ft{_S}lbf", "lbf.ft", False),
    (rf"lbf{_S}in|in{_S}lbf", "lbf.in", False),
    (rf"kg{_S}m", "kgf.m", True),
    (rf"kg{_S}cm", "kgf.cm", True),
    (rf"{_POUND}{_S}(?:ft|foot|feet)|(?:ft|foot|feet){_S}{_POUND}", "lbf.ft", True),
    (rf"{_POUND}{_S}(?:in|inch|inches)|(?:in|inch|inches){_S}{_POUND}", "lbf.in", True),
)
_RANGE = rf"(?P<low>{NUMBER}) ?(?:-|~|to) ?(?P<high>{NUMBER})"
_TOLERANCE = (
    rf"(?P<nominal>{NUMBER}) ?(?:± ?(?P<both>{NUMBER})"
    rf"|\+ ?(?P<plus>{NUMBER}) ?/? ?- ?(?P<minus>{NUMBER}))"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueReading(Reading):
    """A torque in N·m to two decimals; ``unit`` is the unit that was printed.

    A single value has the nominal only, a range its two ends, a value with tolerance all three.
    """

    kind: ClassVar[str] = "torque"
    unit: str
    min_nm: float | None = None
    nominal_nm: float | None = None
    max_nm: float | None = None


@dataclass(frozen=True, slots=True)
class _Values:
    """Lowest, nominal and highest value in one unit, as printed."""

    low: float | None
    nominal: float | None
    high: float | None


def _find_unit(written: str, raw: str) -> tuple[str, bool]:
    """Canonical unit, and whether it had to be assumed."""
    lower = written.lower()
    for spelling, unit, is_mass in _UNITS:
        if re.fullmatch(spelling, lower):
            letters = re.sub("[^A-Za-z]", "", written)
            is_wrong_case = unit == "N.m" and len(letters) == 2 and letters != "Nm"
            return unit, is_mass or is_wrong_case
    if not written:
        raise _TORQUE.refuse(raw, "has no unit", reason=Refusal.MISSING_UNIT)
    problem = f"has '{written}' for a unit of torque"
    raise _TORQUE.refuse(raw, problem, reason=Refusal.UNKNOWN_UNIT)


def _values_of(written: str, raw: str) -> _Values:
    if found := re.fullmatch(NUMBER, written):
        return _Values(None, parse_number(written), None)
    if found := re.fullmatch(_RANGE, written):
        low, high = parse_number(found["low"]), parse_number(found["high"])
        if low > high:
            raise _TORQUE.refuse(raw, "has its higher value first", reason=Refusal.REVERSED_RANGE)
        return _Values(low, None, high)
    if found := re.fullmatch(_TOLERANCE, written):
        nominal = parse_number(found["nominal"])
        plus, minus = found["plus"] or found["both"], found["minus"] or found["both"]
        return _Values(nominal - parse_number(minus), nominal, nominal + parse_number(plus))
    numbers = len(re.findall(NUMBER, written))
    if re.fullmatch(rf"{NUMBER}(?: ?[-~/x;, ] ?{NUMBER})+", written):
        is_pair = numbers == 2
        problem = "names two torques" if is_pair else "has more than two numbers"
        reason = Refusal.MULTIPLE_VALUES if is_pair else Refusal.TOO_MANY_NUMBERS
        raise _TORQUE.refuse(raw, problem, reason=reason)
    problem = f"is not understood at '{written}'"
    raise _TORQUE.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)


def _split_unit(written: str) -> tuple[str, str]:
    """Numbers and unit of one torque; a unit behind each end of a range is taken once."""
    found = re.fullmatch(r"([0-9].*?[0-9]|[0-9])? ?([^0-9]*)", written)
    if found is None or not found[1]:
        return "", written
    numbers, unit = found[1], found[2].strip()
    first = re.fullmatch(rf"({NUMBER}) ?([A-Za-z][A-Za-z. ]*?) ?(-|~|to) ?({NUMBER})", numbers)
    if first and first[2].strip().lower() == unit.lower():
        numbers = f"{first[1]}{first[3]}{first[4]}"
    return numbers, unit


def _read_one(written: str, raw: str) -> tuple[_Values, str, bool]:
    """Values in N·m, not rounded, with the unit and whether it was assumed."""
    numbers, written_unit = _split_unit(written)
    if not numbers:
        is_unit_only = any(re.fullmatch(spelling, written.lower()) for spelling, _, _ in _UNITS)
        reason = Refusal.TOO_FEW_NUMBERS if is_unit_only else Refusal.NOT_RECOGNISED
        raise _TORQUE.refuse(raw, "has no value in front of a unit", reason=reason)
    if re.search(r"[^0-9A-Za-z.~±+/;, -]", written):
        raise _TORQUE.refuse(raw, "holds a sign that is not understood", reason=Refusal.NOT_RECOGNISED)
    if has_lost_number(numbers, "-~") or re.match(r"[-.~±+/;,] ?[-.~±+/;,]|[-~±+/;,]", written_unit):
        problem = "has a sign without a number beside it"
        raise _TORQUE.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    if re.search(r"[A-Za-z]", re.sub(r"(?<=[0-9]) ?to ?(?=[0-9])", "", numbers)):
        problem = f"is not understood at '{numbers}'"
        raise _TORQUE.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    unit, is_assumed = _find_unit(written_unit, raw)
    values = _values_of(numbers, raw)
    factor = _NM_PER_UNIT[unit]
    scaled = [None if v is None else v * factor for v in (values.low, values.nominal, values.high)]
    if any(v is not None and not SMALLEST_NM <= v <= LARGEST_NM for v in scaled):
        problem = f"is not within {SMALLEST_NM:g} to {LARGEST_NM:g} N.m"
        raise _TORQUE.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)
    return _Values(*scaled), unit, is_assumed


def _differs(printed: _Values, converted: _Values) -> bool:
    """Whether a conversion is further off than printed rounding explains."""
    pairs = [(printed.low, converted.low), (printed.nominal, converted.nominal)]
    pairs.append((printed.high, converted.high))
    common = [(a, b) for a, b in pairs if a is not None and b is not None]
    if not common:
        single = printed.nominal or converted.nominal or 0.0
        low = printed.low or converted.low or 0.0
        high = printed.high or converted.high or 0.0
        return not low * (1 - LARGEST_DEVIATION) <= single <= high * (1 + LARGEST_DEVIATION)
    return any(abs(a - b) > LARGEST_DEVIATION * a for a, b in common)


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, _DECIMALS)


def parse_torque(text: str) -> TorqueReading:
    """Torque in a text.

    Raises:
        BadNotation: not a torque; ``reason`` says why.

    Example:
        >>> parse_torque("0.8~1.2 kgf-m").max_nm
        11.77
    """
    cleaned = clean_numbers(text, _TORQUE)
    plain = re.sub(r"\+ ?/? ?-(?= ?[0-9]+(?:\.[0-9]+)?(?: |[A-Za-z(]|$))", "±", cleaned.text)
    if re.match(r"- ?[0-9]", plain):
        raise _TORQUE.refuse(text, "is negative", reason=Refusal.OUT_OF_RANGE)
    found = re.fullmatch(r"([^()]+?) ?(?:\(([^()]+)\))?", plain)
    if found is None:
        raise _TORQUE.refuse(text, "has brackets out of place", reason=Refusal.NOT_RECOGNISED)
    printed, unit, is_assumed = _read_one(found[1], text)
    for conversion in re.split(r"[,;/]", found[2]) if found[2] else ():
        converted, _, _ = _read_one(conversion.strip(), text)
        if _differs(printed, converted):
            problem = f"differs by more than 3 % from its conversion '{conversion.strip()}'"
            raise _TORQUE.refuse(text, problem, reason=Refusal.CONTRADICTORY)
    return TorqueReading(
        unit=unit,
        min_nm=_round(printed.low),
        nominal_nm=_round(printed.nominal),
        max_nm=_round(printed.high),
        flags=cleaned.flags | {Flag.UNIT_ASSUMED} if is_assumed else cleaned.flags,
        raw=text,
    )


def _format_in_unit(value_nm: float, unit: str) -> float:
    """Shortest value in a unit that gives the same torque in N·m again."""
    factor = _NM_PER_UNIT[unit]
    candidates = (round(value_nm / factor, decimals) for decimals in range(7))
    return next(v for v in candidates if abs(v * factor - value_nm) < _HALF_OF_LAST_DECIMAL)


def format_torque(reading: TorqueReading) -> str:
    """The one spelling, in the printed unit.

    Example:
        >>> format_torque(parse_torque("30 ft lb")), format_torque(parse_torque("45±5Nm"))
        ('30 lbf.ft', '45+5/-5 N.m')
    """
    low, nominal, high = (
        None if v is None else _format_in_unit(v, reading.unit)
        for v in (reading.min_nm, reading.nominal_nm, reading.max_nm)
    )
    if nominal is None:
        value = f"{format_number(low or 0)}-{format_number(high or 0)}"
    elif low is None or high is None:
        value = format_number(nominal)
    else:
        value = f"{format_number(nominal)}+{format_number(high - nominal)}/-{format_number(nominal - low)}"
    return f"{value} {reading.unit}"
