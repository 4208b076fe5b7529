"""Facts that a person types, ``case_length=402 mm`` or ``stamped_designation=1E38*``, made ready to compare.

Numbers come into the unit of the record. Where the record holds words a number stays a word, so that a
stamp read as ``151`` is held against stamps. ``*`` stands for any characters, ``?`` for one: a stamp is often
read only in part.

Source: names, common practice, no source.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase

from kb.errors import BadInput
from kb.rules.feature import Candidate, FeatureValue, Value, clean_word
from kb.rules.quantity import find_unit, parse_quantity
from kb.rules.reading_value import convert_to_unit, find_number
from kb.rules.vehicle_match import VehicleQuestion

STAMP = "stamped_designation"
_SAME_QUANTITY = {
    "designation": STAMP,
    "stamp": STAMP,
    "stamping": STAMP,
    "engine_number": STAMP,
    "belt_width": "belt_top_width",
    "rim": "wheel_diameter",
    "rim_diameter": "wheel_diameter",
}
_VEHICLE_QUANTITIES = ("vehicle", "make", "model", "machine", "year")
_FACT = re.compile(r"\s*([^=]+?)\s*=\s*(.+?)\s*", re.DOTALL)
LONGEST_FACT = 200


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of the machine: readings by quantity as typed, and the vehicle."""

    readings: Mapping[str, str]
    vehicle: VehicleQuestion


def parse_facts(pairs: Sequence[tuple[str, str]]) -> Facts:
    """Facts from names and values as typed.

    Args:
        pairs: names with or without a unit, and values.

    Raises:
        BadInput: a name without letters, an empty or overlong value, a year that is no number, one name
            with two values.

    Example:
        >>> facts = parse_facts([("designation", "1E38QMA"), ("make", "Osk"), ("year", "2014")])
        >>> dict(facts.readings), facts.vehicle.make, facts.vehicle.year
        ({'stamped_designation': '1E38QMA'}, 'Osk', 2014)
    """
    readings: dict[str, str] = {}
    vehicle: dict[str, str] = {}
    for name, value in pairs:
        if not value.strip() or len(value) > LONGEST_FACT:
            raise BadInput(
                f"Fact '{name[:40]}' has no value of 1 to {LONGEST_FACT} characters; "
                "write it as QUANTITY=VALUE, for example case_length=402.",
                field=name[:40],
            )
        quantity = parse_quantity(name)
        if quantity in _VEHICLE_QUANTITIES:
            _keep_one("text" if quantity in ("vehicle", "machine") else quantity, value.strip(), into=vehicle)
        else:
            quantity = _SAME_QUANTITY.get(quantity, quantity)
            _keep_one(quantity, _keep_unit(name, value.strip()), into=readings)
    return Facts(readings, _build_vehicle(vehicle))


def _keep_one(quantity: str, value: str, *, into: dict[str, str]) -> None:
    """Keep a fact; one that was given before may be given again, but not with another value."""
    before = into.setdefault(quantity, value)
    if clean_word(before) != clean_word(value):
        raise BadInput(
            f"Fact '{quantity}' is given twice, as '{before}' and as '{value}'; keep the one that is right.",
            field=quantity[:40],
        )


def _keep_unit(name: str, value: str) -> str:
    """The value with the unit that its name states, where that is inches: ``case_length_in=15.8``."""
    number = find_number(value)
    says_inches = bool(re.search(r"[_ ]in\s*$", name.casefold()))
    return f"{value} in" if says_inches and number is not None and number[1] is None else value


def _build_vehicle(words: Mapping[str, str]) -> VehicleQuestion:
    year = words.get("year")
    if year is not None and not re.fullmatch(r"[0-9]{4}", year):
        raise BadInput(f"Year '{year[:40]}' is not a year; write four digits.", field="year")
    return VehicleQuestion(
        make=words.get("make", ""),
        model=words.get("model", ""),
        text=words.get("text", ""),
        year=int(year) if year else None,
    )


def split_fact(text: str) -> tuple[str, str]:
    """Name and value of a fact as the command line has it.

    Raises:
        BadInput: there is no name or no value.

    Example:
        >>> split_fact("case_length = 402 mm")
        ('case_length', '402 mm')
    """
    found = _FACT.fullmatch(text)
    if found is None:
        raise BadInput(
            f"Fact '{text[:60]}' lacks a name or a value; write QUANTITY=VALUE, for example case_length=402.",
            field="fact",
        )
    return found[1], found[2]


def prepare_reading(text: str, recorded: Sequence[FeatureValue]) -> Value:
    """A typed value as it is compared with what is recorded for its quantity.

    Args:
        text: the value as typed.
        recorded: all that is recorded for the quantity, of any engine.

    Returns:
        A number in the usual unit of the record, or a word where the record holds only words.

    Raises:
        BadInput: a unit that measures something else.

    Example:
        >>> prepare_reading("12 in", [FeatureValue("wheel_diameter", 12.0, unit="in")])
        12.0
        >>> prepare_reading("151", [FeatureValue("stamped_designation", "151QMI")])
        '151'
    """
    number = find_number(text)
    numeric = [value for value in recorded if not isinstance(value.value, str)]
    if number is None or (recorded and not numeric):
        return text
    quantity = numeric[0].quantity if numeric else ""
    unit = find_unit(quantity, unit=numeric[0].unit) if numeric else None
    given = number[1]
    if given is None:
        return number[0]
    return round(convert_to_unit(number[0], given, unit=unit, quantity=quantity), 6)


def is_pattern(value: Value) -> bool:
    """Whether a word was read only in part.

    Example:
        >>> is_pattern("1E38*"), is_pattern("1E38QMA")
        (True, False)
    """
    return isinstance(value, str) and any(sign in value for sign in "*?")


def fill_pattern(candidate: Candidate, quantity: str, pattern: str) -> Candidate:
    """The candidate with recorded words that a partial reading describes replaced by that reading.

    Example:
        >>> filled = fill_pattern(Candidate("a", (FeatureValue("stamp", "1E38QMA"),)), "stamp", "1E38*")
        >>> filled.features[0].value
        '1E38*'
    """
    wanted = clean_word(pattern).replace("[", "[[]")  # brackets are no pattern here
    return replace(
        candidate,
        features=tuple(
            replace(value, value=pattern)
            if value.quantity == quantity
            and isinstance(value.value, str)
            and fnmatchcase(clean_word(value.value), wanted)
            else value
            for value in candidate.features
        ),
    )
