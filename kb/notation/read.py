"""Any written size or code: read as the kind that is given, or as the kind that its form shows.

Without a kind only forms that one notation has are read; three sizes such as 20x35x7 (oil seal, bearing)
and a bare pair such as 16x13 are refused as ``ambiguous_kind``, because the numbers alone do not decide.

Source: order of the attempts: judgement of this project.
"""

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from importlib import import_module
from typing import Any, cast

from kb.errors import BadInput, BadNotation
from kb.notation.cleanup import clean, clean_numbers
from kb.notation.reading import NUMBER, Notation, Reading, show_text
from kb.terms import Refusal

# Kind to the name of its module and of its parse_ and format_ functions. A module is imported when its
# kind is first asked for: all thirteen together take several times as long to import as the rest.
_MODULES = {
    "belt": "belt",
    "belt_wide": "belt_wide",
    "belt_inch": "belt_inch",
    "roller": "roller",
    "thread": "thread",
    "engine": "engine",
    "tyre": "tyre",
    "gtin": "gtin",
    "torque": "torque",
    "bearing": "bearing",
    "seal": "seal",
    "oring": "o_ring",
    "spring": "spring",
}
AUTO = "auto"
KINDS = (*_MODULES, AUTO)

_CODE = Notation(
    "Text", "write a size or code with its unit, or name its kind, for example 788-17-28 or 8-12 N.m"
)
_SEPARATOR = r"(?: ?[-x/;,] ?| )"
# The form that shows the kind, in the order of the attempts; white space is single, letters are lower.
_FORMS = (
    ("gtin", r"(?:[0-9]{8}|[0-9]{12,14}|[0-9](?:[ -]?[0-9]){11,13}|\(01\).*|\](?:e0|e4|c1|d2|q3).*)"),
    ("belt_inch", r"[0-9oil|]{4} ?v ?[0-9oil|]{3,4}"),
    ("engine", r"\*.*|(?![0-9]+ ?mm$)[a-z0-9|].*"),
    ("thread", r"m ?[0-9].*"),
    ("bearing", r"hk ?[0-9].*|6[0-9]{3}(?: ?[-/] ?| )?[0-9a-z]*[a-z].*"),
    ("belt_wide", r"w ?[0-9.]+[^0-9.].*"),
    ("tyre", r"(?:[0-9]+ ?/ ?[0-9]+|[0-9]\.[0-9]{2}) ?[-br/] ?(?:[89]|1[0-9])(?![0-9.]).*"),
    ("torque", rf".*{NUMBER} ?(?:[a-z].*)"),
    ("roller", rf".*{NUMBER} ?(?:kg|g|gr|grams?)(?![a-wyz]).*"),
    ("spring", r".*[0-9] ?(?:rpm|r/min|1/min)|(?:l0|lo|d|n) ?=.*"),
    ("belt", r".*"),
)
# Refusals that explain a text better than "not recognised", once its form has shown the kind.
_TELLING_REFUSALS = frozenset(
    {
        Refusal.UNKNOWN_CLASS_LETTER,
        Refusal.UNKNOWN_COOLING_LETTER,
        Refusal.NOT_MOTORCYCLE,
        Refusal.REVERSED_RANGE,
        Refusal.CONTRADICTORY,
        Refusal.OUT_OF_RANGE,
        Refusal.MULTIPLE_VALUES,
    }
)
# Any letters behind figures can pass for an engine, any numbers for a belt: there the form tells little.
_ENGINE_LETTERS = r"(?:[fq][a-z]|[a-z]m)[a-z]"


def _parser_of(kind: str) -> Callable[[str], Reading]:
    name = _MODULES[kind]
    return cast(Callable[[str], Reading], getattr(import_module(f"kb.notation.{name}"), f"parse_{name}"))


def _is_telling(refusal: BadNotation, kind: str, shown: str) -> bool:
    """Whether a refusal by a kind says more of the text than that its kind is not known."""
    if kind == "belt" or refusal.reason not in _TELLING_REFUSALS:
        return False
    return kind != "engine" or re.search(_ENGINE_LETTERS, shown) is not None


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
            return _parser_of(kind)(text)
        except BadNotation as refusal:
            first = first or (refusal if _is_telling(refusal, kind, shown) else None)
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
    if kind not in _MODULES:
        raise BadInput(
            f"Kind '{show_text(kind)}' is not known; write one of {', '.join(KINDS)}.", field="kind"
        )
    return _parser_of(kind)(text)


def format_code(reading: Reading) -> str:
    """The one spelling of a reading of any kind.

    Example:
        >>> format_code(read_code("17,5x788x28"))
        '788-17.5-28'
    """
    name = _MODULES[reading.kind]
    return cast(str, getattr(import_module(f"kb.notation.{name}"), f"format_{name}")(reading))


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
