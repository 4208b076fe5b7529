"""A measured value as a person types it: ``16.6``, ``16,6 mm``, ``0.65 in``.

A person meets it at the bench: on the command line, in a form field, in the address of a page. A number
without a unit is in the unit of the record that it is held against. It tells nothing about what was measured.

Source: decimal comma and unit behind the number, common practice, no source; inches by definition 25.4 mm.

Good: ``16,6 mm``. Refused: ``about 16`` (not a number).
"""

import math
import re

from kb.errors import BadInput
from kb.rules.quantity import MM_PER_IN, UNIT_SPELLINGS

_MM_OF_UNIT = {"mm": 1.0, "cm": 10.0, "in": MM_PER_IN}
LARGEST = 1e6
_FORM = re.compile(
    r"\s*(?P<number>[-+−]?\d{1,9}(?:[.,]\d{1,9})?)\s*"
    r"(?P<unit>mm|cm|in(?:ch(?:es)?)?|\"|″|g|gram(?:s)?|deg|°|km|rpm|r/min|n·?m|cc|cm3|cm³)?\.?\s*",
    re.IGNORECASE,
)


def find_number(text: str) -> tuple[float, str | None] | None:
    """Number and unit of a text; None when it is no number.

    Example:
        >>> find_number("16,6 mm"), find_number("12"), find_number("1E38QMA")
        ((16.6, 'mm'), (12.0, None), None)
    """
    found = _FORM.fullmatch(text)
    if found is None:
        return None
    number = float(found["number"].replace(",", ".").replace("−", "-"))
    unit = found["unit"].casefold() if found["unit"] else None
    return number, UNIT_SPELLINGS.get(unit, unit) if unit else None


def parse_reading_value(text: str, *, unit: str | None = "mm", quantity: str = "value") -> float:
    """Value of a reading in the unit of the record.

    Args:
        text: the value, with or without a unit.
        unit: unit of the record that the reading is held against; None when it states none.
        quantity: name of the quantity, for the message.

    Returns:
        Number in the unit of the record; millimetres, centimetres and inches are turned into one another.

    Raises:
        BadInput: no number, or a unit that does not belong to the record's.

    Source: conversion by definition.

    Example:
        >>> parse_reading_value("16,6"), round(parse_reading_value("0.65 in"), 2)
        (16.6, 16.51)
    """
    found = find_number(text)
    if found is None or not math.isfinite(found[0]) or abs(found[0]) > LARGEST:
        raise BadInput(
            f"Value '{text[:40]}' of '{quantity}' is not a number; write it as measured, for example 16.6.",
            field="value",
        )
    return convert_to_unit(found[0], found[1], unit=unit, quantity=quantity)


def convert_to_unit(number: float, given: str | None, *, unit: str | None, quantity: str) -> float:
    """A number in the unit of the record.

    Raises:
        BadInput: the unit given does not measure the same thing.

    Example:
        >>> convert_to_unit(2.0, "cm", unit="mm", quantity="length")
        20.0
    """
    wanted = (unit or given or "").casefold()
    wanted = UNIT_SPELLINGS.get(wanted, wanted)
    if given is None or given == wanted:
        return number
    if given in _MM_OF_UNIT and wanted in _MM_OF_UNIT:
        return number * _MM_OF_UNIT[given] / _MM_OF_UNIT[wanted]
    raise BadInput(
        f"Value '{number:g} {given}' of '{quantity}' is held against a value in '{unit}'; "
        f"measure it in {unit}.",
        field="value",
    )
