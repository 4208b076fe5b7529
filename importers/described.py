"""Sizes and part types read out of descriptions: ``CVT BELT 743x20x30 RUBBER`` says length, width and angle.

Only empty cells are filled, only from a size that is written once and without doubt, and only into columns
that the part type has. What was read is reported with the row.
"""

import re
from collections.abc import Callable
from typing import Any

from importers.local_cells import find_part_types
from kb.edits.target import Values
from kb.errors import BadNotation
from kb.notation.bearing import parse_bearing
from kb.notation.belt import parse_belt
from kb.notation.reading import Reading
from kb.notation.roller import parse_roller
from kb.notation.seal import parse_seal
from kb.notation.thread import format_thread, parse_thread
from kb.rules.match.phrases import split_words
from kb.terms import PartType

_X = r"\s?[x×*/-]\s?"
_N = r"[0-9]{1,4}(?:[.,][0-9]{1,2})?"
_END = r"(?![0-9A-Za-z]|[.,][0-9]|\s?[x×*/]\s?[0-9])"
_BEGIN = r"(?<![0-9A-Za-z.,×*/-])"
_SIZES = re.compile(rf"{_BEGIN}{_N}(?:\s?mm)?(?:{_X}{_N}(?:\s?(?:mm|°|deg))?){{1,3}}{_END}", re.IGNORECASE)
_ROLLER = re.compile(
    rf"{_BEGIN}{_N}{_X}{_N}(?:\s?mm)?(?:[\s,;/-]{{1,3}}|x){_N}\s?g(?:r|rams?)?\b(?:\s?x\s?[0-9]{{1,2}}\b)?{_END}|{_BEGIN}{_N}\s?[x×*]\s?{_N}{_END}",
    re.IGNORECASE,
)
_THREAD = re.compile(
    r"(?<![0-9A-Za-z])M[0-9]{1,2}(?:[.,][0-9])?\s?[x×]\s?[0-9](?:[.,][0-9]{1,2})?(?:\s?LH\b)?"
)
_BEARING = re.compile(
    r"(?<![0-9A-Za-z-])6[0-9]{3}(?:[- ]?(?:2RS|ZZ|2Z|RS|Z|C3|C4)){0,3}(?![0-9A-Za-z-])", re.IGNORECASE
)
_LONGEST_PHRASE = 4


def find_described_part_type(description: str) -> str | None:
    """The one part type that the words of a description name; None when several or none are named.

    The longest phrase decides: ``clutch spring`` is no clutch.

    Example:
        >>> find_described_part_type("CVT BELT 743x20x30"), find_described_part_type("Shop coat, blue")
        ('drive_belt', None)
    """
    words = [word for word in split_words(description) if not word[0].isdigit()]
    for size in range(min(_LONGEST_PHRASE, len(words)), 0, -1):
        found = {
            part_type
            for start in range(len(words) - size + 1)
            for part_type in find_part_types(" ".join(words[start : start + size]))
        }
        if found:
            return found.pop() if len(found) == 1 else None
    return None


def _belt(reading: Any) -> Values:
    return {
        "length_mm": reading.length_mm,
        "length_kind": str(reading.length_kind) if reading.length_kind else None,
        "top_width_mm": reading.width_mm,
        "thickness_mm": reading.height_mm,
        "angle_deg": reading.angle_deg,
    }


def _roller(reading: Any) -> Values:
    return {
        "diameter_mm": reading.od_mm,
        "width_mm": reading.width_mm,
        "mass_g": reading.mass_g,
        "count": reading.count,
    }


def _bearing(reading: Any) -> Values:
    return {
        "bore_mm": reading.bore_mm,
        "outside_mm": reading.od_mm,
        "width_mm": reading.width_mm,
        "clearance": reading.clearance,
    }


def _seal(reading: Any) -> Values:
    # The bore of a seal as an article is that for the shaft; its outside fills the bore of the housing.
    return {"bore_mm": reading.shaft_mm, "outside_mm": reading.bore_mm, "width_mm": reading.width_mm}


def _thread(reading: Any) -> Values:
    return {"thread": format_thread(reading)}


Way = tuple[re.Pattern[str], Callable[[str], Reading], Callable[[Any], Values]]
_WAYS: dict[str, tuple[Way, ...]] = {
    PartType.DRIVE_BELT: ((_SIZES, parse_belt, _belt),),
    PartType.ROLLER_SET: ((_ROLLER, parse_roller, _roller),),
    PartType.SLIDER_SET: ((_ROLLER, parse_roller, _roller),),
    PartType.OIL_SEAL: ((_SIZES, parse_seal, _seal),),
    PartType.BEARING: ((_SIZES, parse_bearing, _bearing), (_BEARING, parse_bearing, _bearing)),
    PartType.NUT: ((_THREAD, parse_thread, _thread),),
}


def read_described_sizes(description: str, part_type: str) -> tuple[str, Values]:
    """The size written in a description and the values that it says; nothing when none or several are.

    Example:
        >>> read_described_sizes("CVT BELT 743x20x30 RUBBER", "drive_belt")
        ('743x20x30', {'length_mm': 743.0, 'top_width_mm': 20.0, 'angle_deg': 30.0})
    """
    for pattern, parse, list_values in _WAYS.get(part_type, ()):
        texts = list(dict.fromkeys(found[0].strip() for found in pattern.finditer(description[:500])))
        if len(texts) != 1:
            continue
        try:
            reading = parse(texts[0])
        except BadNotation:
            continue
        if reading.is_doubtful:
            continue
        return texts[0], {name: value for name, value in list_values(reading).items() if value is not None}
    return "", {}
