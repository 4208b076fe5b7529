"""What is recorded about an engine that can be looked at or measured: a number with its unit, or a word.

A person meets a feature as a row of the features sheet: quantity, value, unit, how to measure, source.
One engine may have several rows for one quantity, from several sources; they stand side by side.
A feature does not tell how the engine differs from another; comparing does.

Source: tolerances as ``kb.rules.quantity``.

Example:
    >>> agrees(FeatureValue("case_length", 400.0), 402.0), agrees(FeatureValue("case_length", 400.0), "long")
    (True, None)
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kb.rules.quantity import EQUAL, find_tolerance_rule, find_unit
from kb.rules.reading_value import convert_to_unit

Value = float | str


@dataclass(frozen=True, slots=True)
class FeatureValue:
    """One recorded value of an engine: a number with its unit, or a word."""

    quantity: str
    value: Value
    unit: str | None = None
    how: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """An engine with what is recorded about it; one quantity may stand several times."""

    engine: str
    features: tuple[FeatureValue, ...] = ()


# By quantity, all that is recorded about one engine.
Recorded = dict[str, list[FeatureValue]]


def unify_units(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The candidates with each length in one unit for all of them, so that numbers can be compared.

    Sources state the same length in mm, cm or inches; the unit that most rows of a quantity have is taken, of
    equals mm, and never cm, for which no tolerance is set. Rows that state no unit stay as they are.

    Example:
        >>> rows = [Candidate("a", (FeatureValue("bore", 40.0, "mm"),)),
        ...         Candidate("b", (FeatureValue("bore", 1.575, "in"),))]
        >>> [item.features[0].value for item in unify_units(rows)]
        [40.0, 40.005]
    """
    units: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for candidate in candidates:
        for feature in candidate.features:
            unit = _length_unit(feature)
            if unit is not None:
                units[feature.quantity][unit] += 1
    wanted = {
        quantity: "in" if found["in"] > found["mm"] + found["cm"] else "mm"
        for quantity, found in units.items()
        if len(found) > 1 or "cm" in found
    }
    if not wanted:
        return list(candidates)
    return [
        replace(item, features=tuple(_convert(value, wanted.get(value.quantity)) for value in item.features))
        for item in candidates
    ]


def _length_unit(feature: FeatureValue) -> str | None:
    if feature.unit is None or isinstance(feature.value, str):
        return None
    unit = find_unit(feature.quantity, unit=feature.unit)
    return unit if unit in ("mm", "cm", "in") else None


def _convert(feature: FeatureValue, wanted: str | None) -> FeatureValue:
    unit = _length_unit(feature)
    if wanted is None or unit is None or unit == wanted or isinstance(feature.value, str):
        return feature
    value = convert_to_unit(feature.value, unit, unit=wanted, quantity=feature.quantity)
    return replace(feature, value=round(value, 4), unit=wanted)


def clean_word(word: str) -> str:
    """A word as it is compared: lower case, single spaces.

    Example:
        >>> clean_word("  Forced  Air ")
        'forced air'
    """
    return " ".join(word.casefold().split())


def tolerance_of(feature: FeatureValue) -> float:
    """Permitted difference from a recorded number, in its unit; 0 for a word."""
    if isinstance(feature.value, str):
        return 0.0
    rule = find_tolerance_rule(feature.quantity, unit=feature.unit, how=feature.how)
    return rule.tolerance_at(feature.value)


def agrees(feature: FeatureValue, asked: Value) -> bool | None:
    """Whether a reading agrees with one recorded value; None when a word meets a number.

    Example:
        >>> agrees(FeatureValue("case_length", 400.0), 402.1)
        False
        >>> agrees(FeatureValue("cooling", "Air"), "air")
        True
    """
    if isinstance(feature.value, str) and isinstance(asked, str):
        return clean_word(feature.value) == clean_word(asked)
    if isinstance(feature.value, str) or isinstance(asked, str):
        return None
    return abs(feature.value - asked) <= tolerance_of(feature) + EQUAL


def cannot_split(first: FeatureValue, second: FeatureValue) -> bool:
    """Whether one reading could agree with both values, so that it would not tell them apart.

    Numbers closer than the sum of their tolerances can't be split; a word beside a number can't either.

    Example:
        >>> cannot_split(FeatureValue("bore", 39.0), FeatureValue("bore", 39.9))
        True
        >>> cannot_split(FeatureValue("bore", 39.0), FeatureValue("bore", 40.0))
        False
    """
    if isinstance(first.value, str) and isinstance(second.value, str):
        return clean_word(first.value) == clean_word(second.value)
    if isinstance(first.value, str) or isinstance(second.value, str):
        return True
    return abs(first.value - second.value) < half_width(first) + half_width(second)


def half_width(feature: FeatureValue) -> float:
    """Half of the open interval that a recorded number takes up: its tolerance, or a hair if that is 0."""
    return max(tolerance_of(feature) - EQUAL / 2, EQUAL / 2)
