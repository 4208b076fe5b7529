"""Refusal of numbers that no measurement can give, in sentences for a person."""

import math

from kb.errors import BadInput


def check_positive(field: str, value: float) -> None:
    """Return if the value is finite and above zero.

    Args:
        field: name of the quantity with its unit, as the caller knows it.
        value: the number to judge.

    Raises:
        BadInput: zero, negative, infinite or not a number.

    Example:
        >>> check_positive("thickness_mm", 8.5)
        >>> check_positive("thickness_mm", 0.0)
        Traceback (most recent call last):
        ...
        kb.errors.BadInput: Value '0.0' of 'thickness_mm' is not a number above zero; measure it again.
    """
    if not 0.0 < value < math.inf:
        raise BadInput(
            f"Value '{value}' of '{field}' is not a number above zero; measure it again.", field=field
        )


def check_not_negative(field: str, value: float) -> None:
    """Return if the value is finite and not below zero.

    Args:
        field: name of the quantity with its unit, as the caller knows it.
        value: the number to judge.

    Raises:
        BadInput: negative, infinite or not a number.
    """
    if not 0.0 <= value < math.inf:
        raise BadInput(
            f"Value '{value}' of '{field}' is below zero or no number; measure it again.", field=field
        )


def check_between(field: str, value: float, *, low: float, high: float) -> None:
    """Return if the value lies strictly between the bounds.

    Args:
        field: name of the quantity with its unit, as the caller knows it.
        value: the number to judge.
        low: bound below, itself refused.
        high: bound above, itself refused.

    Raises:
        BadInput: on or outside a bound, or not a number.
    """
    if not low < value < high:
        raise BadInput(
            f"Value '{value}' of '{field}' does not lie between {low:g} and {high:g}; measure it again.",
            field=field,
        )
