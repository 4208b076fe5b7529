"""Any written size or code: read as the kind that is given, or as the kind that its form shows.

Without a kind only forms that one notation has are read; three sizes such as 20x35x7 (oil seal, bearing)
and a bare pair such as 16x13 are refused as ``ambiguous_kind``, because the numbers alone do not decide.

Source: order of the attempts: judgement of this project.
"""

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from kb.errors import BadInput, BadNotation
from kb.notation.bearing import format_bearing, parse_bearing
from kb.notation.belt import format_belt, parse_belt
from kb.notation.belt_inch import format_belt_inch, parse_belt_inch
from kb.notation.belt_wide import REFERENCE_WIDTHS_MM, format_belt_wide, parse_belt_wide
from kb.notation.cleanup import clean, clean_numbers
from kb.notation.engine import format_engine, parse_engine
from kb.notation.gtin import format_gtin, parse_gtin
from kb.notation.o_ring import format_o_ring, parse_o_ring
from kb.notation.reading import NUMBER, Notation, Reading, format_number
from kb.notation.roller import format_roller, parse_roller
from kb.notation.seal import format_seal, parse_seal
from kb.notation.spring import format_spring, parse_spring
from kb.notation.thread import format_thread, parse_thread
from kb.notation.torque import format_torque, parse_torque
from kb.notation.tyre import format_tyre, parse_tyre
from kb.terms import Refusal

_PARSERS: dict[str, Callable[[str], Reading]] = {
    "belt": parse_belt,
    "belt_wide": parse_belt_wide,
    "belt_inch": parse_belt_inch,
    "roller": parse_roller,
    "thread": parse_thread,
    "engine": parse_engine,
    "tyre": parse_tyre,
    "gtin": parse_gtin,
    "torque": parse_torque,
    "bearing": parse_bearing,
    "seal": parse_seal,
    "oring": parse_o_ring,
    "spring": parse_spring,
}
_FORMATTERS: dict[str, Callable[[Any], str]] = {
    "belt": format_belt,
    "belt_wide": format_belt_wide,
    "belt_inch": format_belt_inch,
    "roller": format_roller,
    "thread": format_thread,
    "engine": format_engine,
    "tyre": format_tyre,
    "gtin": format_gtin,
    "torque": format_torque,
    "bearing": format_bearing,
    "seal": format_seal,
    "oring": format_o_ring,
    "spring": format_spring,
}
AUTO = "auto"
KINDS = (*_PARSERS, AUTO)

_CODE = Notation(
    "Text", "write a size or code with its unit, or name its kind, for example 788-17-28 or 8-12 N.m"
)
_SEPARATOR = r"(?: ?[-x/;,] ?| )"
_WIDE_SECTIONS = "|".join(re.escape(format_number(w)) for w in REFERENCE_WIDTHS_MM)
# The form that shows the kind, in the order of the attempts; white space is single, letters are lower.
_FORMS = (
    ("gtin", r"(?:[0-9]{8}|[0-9]{12,14}|[0-9](?:[ -]?[0-9]){11,13}|\(01\).*|\](?:e0|e4|c1|d2|q3).*)"),
    ("belt_inch", r"[0-9oil|]{4} ?v ?[0-9oil|]{3,4}"),
    ("engine", r"\*.*|(?![0-9]+ ?mm$)[a-z0-9|].*"),
    ("thread", r"m ?[0-9].*"),
    ("bearing", r"hk ?[0-9].*|6[0-9]{3}(?: ?[-/] ?| )?[0-9a-z]*[a-z].*"),
    ("belt_wide", rf"w ?(?:{_WIDE_SECTIONS})[^0-9.].*"),
    ("tyre", r"(?:[0-9]+ ?/ ?[0-9]+|[0-9]\.[0-9]{2}) ?[-br/] ?(?:[89]|1[0-9])(?![0-9.]).*"),
    ("torque", rf".*{NUMBER} ?(?:[a-z].*)"),
    ("roller", rf".*{NUMBER} ?(?:kg|g|gr|grams?)(?![a-wyz]).*"),
    ("spring", r".*[0-9] ?(?:rpm|r/min|1/min)|(?:l0|lo|d|n) ?=.*"),
    ("belt", r".*"),
)
# Kinds whose form is so much their own that their refusal explains the text better than "not recognised".
_TELLING_REFUSALS = frozenset(
    {
        Refusal.UNKNOWN_CLASS_LETTER,
        Refusal.UNKNOWN_COOLING_LETTER,
        Refusal.NOT_MOTORCYCLE,
        Refusal.REVERSED_RANGE,
        Refusal.CONTRADICTORY,
        Refusal.OUT_OF_RANGE,
        Refusal.MULTIPLE_VALUES,
        Refusal.AMBIGUOUS_SEPARATOR,
        Refusal.INCH_THREAD,
    }
)


def _refuse_auto(text: str, plain: str, first: BadNotation | None) -> BadNotation:
    """Why a text whose kind is not given was not read."""
    if re.fullmatch(rf"{NUMBER}(?:{_SEPARATOR}{NUMBER}){{1,2}}(?: ?mm)?", plain):
        problem = "has sizes that several kinds of part can have"
        return _CODE.refuse(text, problem, reason=Refusal.AMBIGUOUS_KIND)
    if first is not None:
        return first
    return _CODE.refuse(text, "has no form that tells its kind", reason=Refusal.NOT_RECOGNISED)


def _read_by_form(text: str) -> Reading:
    starred = clean(text, _CODE, keeps_star=True).lower()
    plain = clean_numbers(text, _CODE).text.lower()
    first: BadNotation | None = None
    for kind, form in _FORMS:
        shown = starred if kind in ("engine", "gtin") else plain
        if not re.fullmatch(form, shown):
            continue
        try:
            return _PARSERS[kind](text)
        except BadNotation as refusal:
            is_telling = refusal.reason in _TELLING_REFUSALS and kind != "belt"
            first = first or (refusal if is_telling else None)
    raise _refuse_auto(text, plain, first)


def read_code(text: str, kind: str = AUTO) -> Reading:
    """Reading of a size or code.

    Args:
        text: as typed, printed, stamped or scanned.
        kind: one of ``KINDS``; ``auto`` finds the kind by form.

    Raises:
        BadNotation: the text cannot be read as that kind; ``reason`` says why.
        BadInput: the kind is none of ``KINDS``.

    Example:
        >>> read_code("M10x1.25").kind
        'thread'
        >>> read_code("20x35x7", "seal").bore_mm
        35.0
    """
    if kind == AUTO:
        return _read_by_form(text)
    parser = _PARSERS.get(kind)
    if parser is None:
        raise BadInput(f"Kind '{kind}' is not known; write one of {', '.join(KINDS)}.", field="kind")
    return parser(text)


def format_code(reading: Reading) -> str:
    """The one spelling of a reading of any kind.

    Example:
        >>> format_code(read_code("17,5x788x28"))
        '788-17.5-28'
    """
    return _FORMATTERS[reading.kind](reading)


def _json_value(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, tuple):
        return [_json_value(part) for part in value]
    if is_dataclass(value):
        return {f.name: _json_value(getattr(value, f.name)) for f in fields(value)}
    return value


def reading_as_json(reading: Reading, *, with_kind: bool) -> dict[str, Any]:
    """Result object of a reading: what is not written is left out, flags in alphabetical order.

    Example:
        >>> reading_as_json(read_code("669 18"), with_kind=True)
        {'ok': True, 'kind': 'belt', 'length_mm': 669, 'width_mm': 18}
    """
    result: dict[str, Any] = {"ok": True}
    if with_kind:
        result["kind"] = reading.kind
    for field in fields(reading):
        value = getattr(reading, field.name)
        if field.name not in ("flags", "raw") and value is not None:
            result[field.name] = _json_value(value)
    if reading.flags:
        result["flags"] = sorted(str(flag) for flag in reading.flags)
    return result


def read_as_json(text: str, kind: str = AUTO) -> dict[str, Any]:
    """Result object of a text, readable or not; it carries the kind when that was found by form.

    Raises:
        BadInput: the kind is none of ``KINDS``.

    Example:
        >>> read_as_json("17-28", "belt")["reason"]
        'no_length'
    """
    try:
        reading = read_code(text, kind)
    except BadNotation as refusal:
        return {"ok": False, "reason": str(refusal.reason), "message": str(refusal)}
    return reading_as_json(reading, with_kind=kind == AUTO)
