"""What is recorded about an engine that can be looked at or measured: a number with its unit, or a word.

A person meets a feature as a row of the features sheet: quantity, value, unit, how to measure, source.
One engine may have several rows for one quantity, from several sources; they stand side by side.
A feature does not tell how the engine differs from another; comparing does.

Source: tolerances as ``kb.rules.quantity``.

Example:
    >>> agrees(FeatureValue("case_length", 400.0), 402.0), agrees(FeatureValue("case_length", 400.0), "long")
    (True, None)
"""

from dataclasses import dataclass

from kb.rules.quantity import EQUAL, find_tolerance_rule

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
