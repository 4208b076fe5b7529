"""Names of measured quantities: one spelling for each, and the unit and tolerance that go with it.

A person meets them on a command line, in a catalogue folder and in an answer. A name is the column
name without its unit (``top_width``, not ``top_width_mm``). What a name does not tell is the place
in the machine: the same word means another thing at another position, so aliases are kept by position.

Source: names, common practice, no source; tolerances of diameters, widths and lengths are settings of
this project, the others a judgement of this project.

Example:
    >>> parse_quantity("Width (mm)", position="drive_belt")
    'top_width'
"""

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from kb.errors import BadInput

# Spellings of units that people and files use → the one spelling kept here.
UNIT_SPELLINGS = {
    "millimetre": "mm",
    "millimetres": "mm",
    "centimetre": "cm",
    "centimetres": "cm",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "″": "in",
    "gram": "g",
    "grams": "g",
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "r/min": "rpm",
    "n·m": "nm",
    "cm3": "cc",
    "cm³": "cc",
}
UNIT_OF_SUFFIX = {"mm": "mm", "g": "g", "deg": "deg", "km": "km", "rpm": "rpm", "in": "in"}

ALIASES_OF_POSITION: dict[str, dict[str, str]] = {
    "drive_belt": {
        "width": "top_width",
        "belt_width": "top_width",
        "outside_length": "length",
        "outer_length": "length",
        "height": "thickness",
    },
    "rollers": {
        "weight": "mass",
        "outside": "diameter",
        "outer_diameter": "diameter",
        "outside_diameter": "diameter",
        "length": "width",
    },
    "sliders": {"height": "thickness"},
    "contra_spring": {"length": "free_length", "height": "free_length"},
    "clutch_springs": {"length": "free_length"},
    "clutch_shoes": {
        "lining": "lining_thickness",
        "pad": "lining_thickness",
        "pad_thickness": "lining_thickness",
        "thickness": "lining_thickness",
    },
    "clutch_bell": {
        "diameter": "bore",
        "inner_diameter": "bore",
        "inside_diameter": "bore",
    },
    "drive_boss": {
        "diameter": "outside",
        "outer_diameter": "outside",
        "outside_diameter": "outside",
    },
    "variator": {"bush_bore": "bore", "inner_diameter": "bore", "inside_diameter": "bore"},
    "guide_pins": {"diameter": "outside", "outer_diameter": "outside", "outside_diameter": "outside"},
}

LONG_MM = 100.0
WIDTH_TOLERANCE_MM = 0.5
LENGTH_TOLERANCE_MM = 2.0
TOLERANCE_OF_UNIT = {"deg": 0.5, "g": 0.1, "cc": 0.5, "cm3": 0.5, "rpm": 50.0}
MM_PER_IN = 25.4
EQUAL = 1e-9

# Words in a quantity's name that say it is a number of millimetres when no unit is stated.
_MM_WORDS = frozenset(
    [
        "length",
        "width",
        "diameter",
        "bore",
        "stroke",
        "thickness",
        "height",
        "distance",
        "outside",
        "depth",
        "gap",
        "spacing",
        "clearance",
    ]
)
_GRAM_WORDS = frozenset({"mass", "weight"})
_ACROSS_WORDS = frozenset(
    {
        "width",
        "diameter",
        "bore",
        "outside",
    }
)
_UNIT = r"(?:mm|in|%|g|deg|°)"
# "within 5 mm of the flange" says where, not how closely.
_PLACE = rf"\s*\d+(?:[.,]\d+)?\s*{_UNIT}?\s*(?:of|from|behind|before|above|below)\b"
_STATED = re.compile(
    r"(?:±|\+\s*/?\s*[-−]|\b(?:plus or minus|give or take|within|accurate to|tolerance(?: of)?)\b\s*[:=]?)"
    rf"(?!{_PLACE})\s*(\d+(?:[.,]\d+)?)\s*({_UNIT}?)(?![.,]?\d|\w)",
    re.IGNORECASE,
)

_EXACT = re.compile(r"\bexact(?:ly)?\b")


@dataclass(frozen=True, slots=True)
class ToleranceRule:
    """How closely a reading must agree: a stated amount, a stated percentage, or the usual one."""

    amount: float | None = None
    percent: float | None = None
    long_amount: float | None = None
    long_from: float = math.inf

    def tolerance_at(self, value: float) -> float:
        """Permitted difference at a recorded value, in the value's own unit."""
        if self.percent is not None:
            return abs(value) * self.percent / 100.0
        if self.long_amount is not None and value > self.long_from:
            return self.long_amount
        return self.amount or 0.0


@lru_cache(maxsize=4096)
def parse_quantity(text: str, *, position: str | None = None) -> str:
    """The one spelling of a quantity's name, without its unit.

    Args:
        text: the name as a person or a file has it, with or without a unit at the end.
        position: the place in the machine, when known; aliases of the trade depend on it.

    Returns:
        Lower-case words joined by underscores.

    Raises:
        BadInput: nothing is left of the name.

    Source: common practice, no source.

    Example:
        >>> parse_quantity("free_length_mm")
        'free_length'
        >>> parse_quantity("width", position="rollers")
        'width'
    """
    words = re.findall(r"[^\W_]+", text.casefold())
    while len(words) > 1 and words[-1] in UNIT_OF_SUFFIX:
        words.pop()
    if not words:
        raise BadInput(
            f"Quantity '{text}' has no letters; write a name such as 'top_width' or 'diameter'.",
            field="quantity",
        )
    name = "_".join(words)
    return ALIASES_OF_POSITION.get(position or "", {}).get(name, name)


def find_unit(name: str, *, unit: str | None = None) -> str | None:
    """Unit of a quantity in its one spelling: the stated one, else the one in its name, else None.

    Example:
        >>> find_unit("case_length_mm"), find_unit("case_length"), find_unit("stud_count")
        ('mm', 'mm', None)
        >>> find_unit("wheel_diameter", unit="Inch"), find_unit("mass")
        ('in', 'g')
    """
    if unit is not None and unit.strip():
        stated = unit.strip().casefold()
        return UNIT_SPELLINGS.get(stated, stated)
    words = re.findall(r"[^\W_]+", name.casefold())
    if len(words) > 1 and words[-1] in UNIT_OF_SUFFIX:
        return UNIT_OF_SUFFIX[words[-1]]
    if _MM_WORDS.intersection(words):
        return "mm"
    return "g" if _GRAM_WORDS.intersection(words) else None


@lru_cache(maxsize=4096)
def find_tolerance_rule(quantity: str, *, unit: str | None = None, how: str | None = None) -> ToleranceRule:
    """How closely a reading of a quantity must agree with a recorded value.

    Args:
        quantity: the name, with or without a unit.
        unit: unit of the recorded value, when stated.
        how: the text that says how to measure; "±1 mm", "within 1 mm", "tolerance 1 mm" or "exact" in it
            overrides the usual tolerance.

    Returns:
        0.5 mm for diameters, widths and short lengths; 2 mm for lengths over 100 mm; exact for
        counts and for what has no unit. A difference equal to the tolerance still agrees.

    Source: settings of this project; degrees, grams, displacement and speed a judgement of this project.

    Example:
        >>> find_tolerance_rule("case_length").tolerance_at(400.0)
        2.0
        >>> find_tolerance_rule("case_length", how="straight edge, ± 1 mm").tolerance_at(400.0)
        1.0
    """
    known_unit = find_unit(quantity, unit=unit)
    if how and _EXACT.search(how.casefold()):
        return ToleranceRule()
    stated = _STATED.search(how) if how else None
    if stated:
        return _stated_rule(stated, known_unit)
    if known_unit in ("mm", "in"):
        scale = 1.0 if known_unit == "mm" else 1.0 / MM_PER_IN
        short = WIDTH_TOLERANCE_MM * scale
        if _ACROSS_WORDS.intersection(re.findall(r"[^\W_]+", quantity.casefold())):
            return ToleranceRule(amount=short)
        return ToleranceRule(amount=short, long_amount=LENGTH_TOLERANCE_MM * scale, long_from=LONG_MM * scale)
    return ToleranceRule(amount=TOLERANCE_OF_UNIT.get(known_unit or "", 0.0))


def _stated_rule(stated: re.Match[str], unit: str | None) -> ToleranceRule:
    amount = float(stated.group(1).replace(",", "."))
    stated_unit = stated.group(2).lower()
    if stated_unit == "%":
        return ToleranceRule(percent=amount)
    if stated_unit == "mm" and unit == "in":
        return ToleranceRule(amount=amount / MM_PER_IN)
    if stated_unit == "in" and unit == "mm":
        return ToleranceRule(amount=amount * MM_PER_IN)
    return ToleranceRule(amount=amount)
