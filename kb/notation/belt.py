"""Drive belt sizes as they are printed on belts and written on lists: 788-17-28.

Length, top width and included angle, sometimes the height, in nearly any order and with nearly any
separator. There is no standard for it; numbers are told apart by magnitude. A reading does not say
which width is meant (top or reference) nor, without a mark La, Lp or Li, along which line the length
runs. The printed angle is kept as printed.

Source: orders and separators: common practice, no source; marks La and Li: published German length
marks; bands: judgement of this project.

Good: ``17,5x788x28``, ``788La-17-28``, ``788-17-28 La``. Refused: ``17-28`` (no length),
``788-669-28`` (two lengths).
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from kb.errors import BadNotation
from kb.notation.cleanup import clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.terms import LengthKind, Refusal

LENGTH_CANDIDATE_MM = 400.0
LENGTH_MM = (500.0, 1300.0)
HEIGHT_MM = (5.0, 12.0)  # the upper end is excluded: it begins the widths
WIDTH_MM = (12.0, 40.0)
ANGLE_DEG = (22.0, 40.0)
_MAX_NUMBERS = 4

_BELT = Notation("Belt size", "write LENGTH-WIDTH-ANGLE in mm and degrees, for example 788-17-28")
_LENGTH_KINDS = {
    "la": LengthKind.OUTSIDE,
    "lp": LengthKind.PITCH,
    "lw": LengthKind.PITCH,
    "li": LengthKind.INSIDE,
}
_LENGTH_MARKS = {LengthKind.OUTSIDE: "La", LengthKind.PITCH: "Lp", LengthKind.INSIDE: "Li"}
_LABELS = {"l": "length", "w": "width", "a": "angle"}
_ITEM = (
    rf"(?:(?P<label>l[apwi]|[lwa]) ?=? ?)?(?P<number>{NUMBER})"
    r"(?P<marks>(?: ?(?:mm|deg(?:rees?)?|l[apwi])(?![0-9=a-wyz]))*)"
)
_SEPARATOR = r" ?[-x/;,] ?| "
# A small l before a length is the label, not a misread one: the number with a 1 before it is no length.
_SMALL_LENGTH_LABEL = r"(?<![A-Za-z0-9])l(?= ?= ?[0-9]|(?:[4-9][0-9]{2}|1[0-3][0-9]{2})(?![0-9]))"
_ORDER = ("length", "width", "height", "angle")


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltReading(Reading):
    """A belt size. ``width_mm`` is the top width where it becomes the size of a belt."""

    kind: ClassVar[str] = "belt"
    length_mm: float
    width_mm: float | None = None
    angle_deg: float | None = None
    height_mm: float | None = None
    length_kind: LengthKind | None = None


@dataclass(frozen=True, slots=True)
class _Item:
    """One number of the text with what stood beside it. ``role`` is set when a label binds it."""

    value: float
    role: str | None = None
    length_kind: LengthKind | None = None
    label: str = ""


def _role_of(label: str, marks: Sequence[str]) -> tuple[str | None, LengthKind | None]:
    """Role and kind of length that label and marks bind; ValueError when they bind two."""
    kinds = {_LENGTH_KINDS[word] for word in (label, *marks) if word in _LENGTH_KINDS}
    roles = {_LABELS[label]} if label in _LABELS else set()
    if kinds:
        roles.add("length")
    if any(mark.startswith("deg") for mark in marks):
        roles.add("angle")
    if len(roles) > 1 or len(kinds) > 1:
        raise ValueError
    return (roles.pop() if roles else None, kinds.pop() if kinds else None)


def _split_items(plain: str, raw: str) -> list[_Item]:
    items: list[_Item] = []
    place = 0
    while place < len(plain):
        if items:
            separator = re.compile(_SEPARATOR).match(plain, place)
            place = separator.end() if separator else place
        found = re.compile(_ITEM).match(plain, place)
        if found is None or (items and not separator):
            problem = f"is not understood from '{plain[place:]}' on"
            raise _BELT.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
        marks = re.findall(r"mm|deg|l[apwi]", found["marks"])
        try:
            role, length_kind = _role_of(found["label"] or "", marks)
        except ValueError:
            problem = f"says two things of the number {found['number']}"
            raise _BELT.refuse(raw, problem, reason=Refusal.CONTRADICTORY) from None
        items.append(_Item(parse_number(found["number"]), role, length_kind, found["label"] or ""))
        place = found.end()
    return _move_last_mark(items)


def _move_last_mark(items: list[_Item]) -> list[_Item]:
    """The items with a mark that closes the whole code given to its length: 743-20-30 Lp.

    Behind a number that is no length the mark can only speak of the code, if one other number is a length.
    """
    lengths = [item for item in items if item.value >= LENGTH_CANDIDATE_MM]
    if len(lengths) != 1 or items[-1] is lengths[0] or items[-1].length_kind is None or items[-1].label:
        return items
    length, last = lengths[0], items[-1]
    if length.role not in (None, "length") or length.length_kind not in (None, last.length_kind):
        return items
    marked = replace(length, role="length", length_kind=last.length_kind)
    return [marked if item is length else item for item in items[:-1]] + [_Item(last.value)]


def _check_form(plain: str, raw: str) -> None:
    if re.search(r"[\"“”″'’′]|[0-9] ?(?:in|inch|inches)\b", plain):
        raise _BELT.refuse(raw, "is in inches", reason=Refusal.UNKNOWN_UNIT)
    if re.search(r"~|(?<![a-z])to(?![a-z])", plain):
        raise _BELT.refuse(raw, "is a range, not one belt", reason=Refusal.MULTIPLE_VALUES)
    if re.fullmatch(r"[abcdez] ?[0-9]{2,3}", plain):
        problem = "looks like an industrial V-belt number in inches"
        raise _BELT.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    if has_lost_number(plain):
        problem = "has a separator without a number beside it"
        raise _BELT.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)


def _pick_length(items: Sequence[_Item], raw: str) -> _Item:
    candidates = [item for item in items if item.role == "length" or item.value >= LENGTH_CANDIDATE_MM]
    if not candidates:
        problem = f"has no number of {LENGTH_CANDIDATE_MM:g} or more, so the length is missing"
        raise _BELT.refuse(raw, problem, reason=Refusal.NO_LENGTH)
    if len(candidates) > 1:
        raise _BELT.refuse(raw, "has two numbers that are lengths", reason=Refusal.TWO_LENGTHS)
    length = candidates[0]
    if length.role not in (None, "length") or not LENGTH_MM[0] <= length.value <= LENGTH_MM[1]:
        raise _refuse_range(raw, f"has {format_number(length.value)} where the length is due")
    return length


def _refuse_range(raw: str, problem: str) -> BadNotation:
    bands = "; lengths are 500 to 1300, widths 12 to 40, angles 22 to 40 whole degrees, heights 5 to under 12"
    return _BELT.refuse(raw, problem + bands, reason=Refusal.OUT_OF_RANGE)


def _fits(item: _Item, role: str) -> bool:
    if item.role not in (None, role):
        return False
    if role == "width":
        return WIDTH_MM[0] <= item.value <= WIDTH_MM[1]
    return item.value.is_integer() and ANGLE_DEG[0] <= item.value <= ANGLE_DEG[1]


def _pick_height(small: Sequence[_Item], raw: str) -> _Item | None:
    heights = [item for item in small if item.role is None and item.value < HEIGHT_MM[1]]
    if len(heights) > 1:
        problem = "has two numbers under 12, of which only one can be the height"
        raise _BELT.refuse(raw, problem, reason=Refusal.TOO_MANY_NUMBERS)
    if heights and heights[0].value < HEIGHT_MM[0]:
        raise _refuse_range(raw, f"has {format_number(heights[0].value)} where the height is due")
    return heights[0] if heights else None


def _list_assignments(rest: Sequence[_Item], raw: str, *, has_height: bool) -> list[dict[str, _Item]]:
    """Ways to share out what is neither length nor height, the trade's usual one first."""
    if not rest:
        raise _BELT.refuse(raw, "has no width", reason=Refusal.TOO_FEW_NUMBERS)
    if len(rest) == 1:
        ways = [{role: rest[0]} for role in ("width", "angle") if _fits(rest[0], role)]
        if has_height:
            ways = ways[:1]
    elif len(rest) == 2:
        first, second = rest
        ways = [
            {"width": width, "angle": angle}
            for width, angle in ((first, second), (second, first))
            if _fits(width, "width") and _fits(angle, "angle")
        ]
    else:
        problem = "has three numbers left for width and angle"
        raise _BELT.refuse(raw, problem, reason=Refusal.TOO_MANY_NUMBERS)
    if not ways:
        raise _refuse_range(raw, "has a number that is neither width nor angle")
    return ways


def _reading_of(items: Sequence[_Item], roles: dict[str, _Item], flags: frozenset[str]) -> BeltReading:
    names = {id(item): role for role, item in roles.items()}
    found_order = [names[id(item)] for item in items]
    plain_order = [role for role in _ORDER if role in roles]
    is_reordered = found_order != plain_order
    values = {role: item.value for role, item in roles.items()}
    return BeltReading(
        length_mm=values["length"],
        width_mm=values.get("width"),
        angle_deg=values.get("angle"),
        height_mm=values.get("height"),
        length_kind=roles["length"].length_kind,
        flags=flags | {Flag.REORDERED} if is_reordered else flags,
    )


def list_belt_readings(text: str) -> tuple[BeltReading, ...]:
    """All admissible readings of a belt size, the one that ``parse_belt`` gives first.

    One element when the text is unambiguous. With two, both carry ``ambiguous_width_angle``; the second
    of a pair such as 743-28 takes 28 as the angle and leaves the width out.

    Raises:
        BadNotation: as ``parse_belt``.

    Example:
        >>> [(r.width_mm, r.angle_deg) for r in list_belt_readings("1000-24-28")]
        [(24.0, 28.0), (28.0, 24.0)]
    """
    labelled = re.sub(_SMALL_LENGTH_LABEL, "L", text)
    cleaned = clean_numbers(labelled, _BELT)
    plain = cleaned.text.lower()
    _check_form(plain, text)
    items = _split_items(plain, text)
    if len(items) < 2:
        problem = "has one number only, which is not a belt size"
        raise _BELT.refuse(text, problem, reason=Refusal.TOO_FEW_NUMBERS)
    if len(items) > _MAX_NUMBERS:
        raise _BELT.refuse(text, "has more than four numbers", reason=Refusal.TOO_MANY_NUMBERS)
    length = _pick_length(items, text)
    small = [item for item in items if item is not length]
    height = _pick_height(small, text)
    fixed = {"length": length} | ({"height": height} if height else {})
    ways = _list_assignments(
        [item for item in small if item is not height], text, has_height=height is not None
    )
    flags = cleaned.flags | {Flag.AMBIGUOUS_WIDTH_ANGLE} if len(ways) > 1 else cleaned.flags
    return tuple(replace(_reading_of(items, fixed | way, flags), raw=text) for way in ways)


def parse_belt(text: str) -> BeltReading:
    """Belt size in a text.

    Raises:
        BadNotation: not a belt size; ``reason`` says why.

    Example:
        >>> parse_belt("788-17-28").width_mm
        17.0
        >>> parse_belt("17-28")
        Traceback (most recent call last):
            ...
        kb.errors.BadNotation: Belt size '17-28' has no number of 400 or more, so the length is missing; ...
    """
    return list_belt_readings(text)[0]


def format_belt(reading: BeltReading) -> str:
    """The one spelling: LENGTH-WIDTH[-HEIGHT]-ANGLE, the kind of length behind the length.

    Example:
        >>> format_belt(parse_belt("28° 17,5 788La"))
        '788La-17.5-28'
    """
    mark = _LENGTH_MARKS[reading.length_kind] if reading.length_kind else ""
    parts = [format_number(reading.length_mm) + mark]
    parts += [format_number(v) for v in (reading.width_mm, reading.height_mm) if v is not None]
    if reading.angle_deg is not None:
        # Alone beside the length it would be taken for the width.
        parts.append(format_number(reading.angle_deg) + ("°" if reading.width_mm is None else ""))
    return "-".join(parts)
