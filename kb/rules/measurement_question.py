"""How to ask for a measurement, and how much has to come apart for it.

A person meets these as the question of the next step: what to look at, with what, and whether the drive
cover may stay on. They do not tell what the answer means.

Source: where to measure, common practice, no source; the work of each step (cover on 1, cover off 3, drive
apart 6, in units of work) and the table of ease are a judgement of this project.

Example:
    >>> find_question("cooling")[0]
    'How is the engine cooled?'
"""

import re
from enum import StrEnum


class Ease(StrEnum):
    """How much has to come apart before a measurement can be taken."""

    COVER_ON = "cover_on"
    COVER_OFF = "cover_off"
    DRIVE_APART = "drive_apart"


WORK_OF_EASE = {Ease.COVER_ON: 1.0, Ease.COVER_OFF: 3.0, Ease.DRIVE_APART: 6.0}

# What the text that says how to measure mentions, tried in this order.
_EASE_WORDS: tuple[tuple[Ease, re.Pattern[str]], ...] = (
    (Ease.COVER_ON, re.compile(r"\bcover on\b|\bfrom (the )?outside\b|\bwithout opening\b")),
    (
        Ease.DRIVE_APART,
        re.compile(
            r"\b(wheel|face|pulley|clutch|belt|variator|cylinder|half) (off|out|removed)\b"
            r"|\b(drive|taken) apart\b"
        ),
    ),
    (Ease.COVER_OFF, re.compile(r"\bcover\b[^,;.:]*\b(off|removed|opened)\b|\b(behind|under) the cover\b")),
)

# Quantities that can be seen or measured on the standing machine, and those that need the drive apart.
_COVER_ON = frozenset(
    [
        "case_length",
        "cover_screw_count",
        "cover_length",
        "wheel_diameter",
        "rim_diameter",
        "tyre",
        "tyre_width",
        "wheel_width",
        "cooling",
        "strokes",
        "starter",
        "kick_starter",
        "kick_start",
        "stamped_designation",
        "fuel",
        "carburettor",
        "exhaust",
        "brake",
        "stamp",
        "number_stamp",
        "vin_letter",
        "engine_number_prefix",
        "designation",
        "displacement",
        "mount_width",
        "mount_count",
        "shock_count",
        "air_filter",
    ]
)
_DRIVE_APART = frozenset(
    [
        "roller_diameter",
        "roller_width",
        "roller_count",
        "boss_length",
        "shaft_length",
        "boss_diameter",
        "shaft_splines",
        "bore",
        "stroke",
    ]
)

# Question and way to measure for the quantities that are often recorded.
_QUESTIONS: dict[str, tuple[str, str | None]] = {
    "case_length": (
        "How long is the drive case?",
        "Cover on: straight edge along the case, from its front edge to its rear edge.",
    ),
    "wheel_diameter": (
        "What rim diameter does the rear tyre show?",
        "Cover on: the number after the dash or the R in the tyre size on the sidewall.",
    ),
    "stamped_designation": ("Which characters are stamped on the case?", "Cover on: clean the pad, read it."),
    "kick_start": (
        "Does it have a kick-starter shaft?",
        "Cover on: a splined shaft through the cover is yes.",
    ),
    "boss_diameter": (
        "What is the outside diameter of the drive boss?",
        "Front face off: caliper across the polished sleeve.",
    ),
    "shaft_length": ("How long is the wheel shaft?", "Wheel off: depth rod from the seal to the tip."),
    "cooling": ("How is the engine cooled?", "Cover on: a radiator with hoses, a fan shroud, or bare fins."),
    "strokes": (
        "Two-stroke or four-stroke?",
        "Cover on: an oil tank for the fuel, or a sump with dipstick or drain screw.",
    ),
    "top_width": (
        "How wide is the belt across its top?",
        "Cover off: caliper across the back of the belt, not squeezed, at three places.",
    ),
    "length": (
        "How long is the belt outside?",
        "Belt off: tape round the outside of the belt lying in a circle.",
    ),
    "cover_screw_count": ("How many screws hold the drive cover?", "Cover on: count them, hidden ones too."),
    "bore": ("What is the cylinder bore?", "Cylinder off: inside gauge across the bore."),
}


def find_ease(quantity: str, *, how: str | None = None) -> Ease:
    """How much must come apart for a measurement: from the text that says how, else from the quantity.

    Example:
        >>> find_ease("case_length").value, find_ease("case_length", how="cover off, caliper").value
        ('cover_on', 'cover_off')
    """
    text = (how or "").casefold()
    for ease, pattern in _EASE_WORDS:
        if pattern.search(text):
            return ease
    if quantity in _COVER_ON:
        return Ease.COVER_ON
    return Ease.DRIVE_APART if quantity in _DRIVE_APART else Ease.COVER_OFF


def find_question(quantity: str) -> tuple[str, str | None]:
    """The question for a quantity and the usual way to measure it, None where there is no usual way.

    Example:
        >>> find_question("stud_spacing")
        ('What is the stud spacing?', None)
    """
    return _QUESTIONS.get(quantity, (f"What is the {quantity.replace('_', ' ')}?", None))
