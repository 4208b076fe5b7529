"""Roller sizes as they stand on sets and lists: 16x13 6.5g, 15 x 12 - 7 g x 6.

Diameter, width, mass of one roller and sometimes the count. There is no standard for it. A reading
without a mass says nothing of the mass. Two masses joined by + are one mixed set.

Source: common practice, no source; bands: judgement of this project.

Good: ``16x13 3x6g+3x7g``. Refused: ``16x13 6/7g`` (two articles), ``6.5g`` (no size).
"""

import re
from dataclasses import dataclass, replace
from typing import ClassVar

from kb.errors import BadNotation
from kb.notation.cleanup import clean_numbers, has_lost_number
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.terms import Refusal

OD_MM = (13.0, 30.0)
WIDTH_MM = (8.0, 25.0)
MASS_G = (2.0, 35.0)
COUNT = (1, 24)
_USUAL_COUNT = 6

_ROLLER = Notation(
    "Roller size", "write DIAMETERxWIDTH in mm, then the mass of one roller, for example 16x13 6.5g"
)
_TOKEN = (
    rf"set of (?P<set>[0-9]+)(?![0-9.]) ?:?|\( ?(?P<bracket>[0-9]+) ?\)"
    rf"|(?P<pieces>[0-9]+) ?(?:pcs|pc|pieces|piece)\b\.?:?"
    rf"|(?P<mass>{NUMBER}) ?(?P<unit>kg|grams|gram|gr|g)(?![a-wyz])"
    rf"|(?P<number>{NUMBER})(?: ?mm(?![a-wyz]))?"
    r"|(?P<mark> ?[-x/;,+] ?| )"
)
# Shape of the text: n number, m mass with unit, c count, s any separator, x and + as written.
_SHAPE = (
    r"(?:c[s_]?)?(?P<mass_first>m[s_])?n[xs_]n"
    r"(?:(?P<mixed>[s_x]nxm(?:\+nxm)+)|(?P<mass>[xs_]m)|(?P<bare>[xs_]n))?"
    r"(?:(?P<count_after>xn)|[s_x]?c)?"
)


@dataclass(frozen=True, slots=True)
class MixedMass:
    """Some rollers of a mixed set that have one mass."""

    count: int
    mass_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RollerReading(Reading):
    """A roller size. ``mixed`` and ``mass_g_total`` stand only for a set of two masses."""

    kind: ClassVar[str] = "roller"
    od_mm: float
    width_mm: float
    mass_g: float | None = None
    count: int | None = None
    mixed: tuple[MixedMass, ...] | None = None
    mass_g_total: float | None = None


@dataclass(frozen=True, slots=True)
class _Shape:
    """The text as one letter per token, with the values of each letter in order."""

    letters: str
    numbers: tuple[float, ...]
    masses_g: tuple[float, ...]
    counts: tuple[int, ...]


def _scan(plain: str, raw: str) -> _Shape:
    letters, place = "", 0
    numbers: list[float] = []
    masses_g: list[float] = []
    counts: list[int] = []
    token = re.compile(_TOKEN)
    while place < len(plain):
        found = token.match(plain, place)
        if found is None:
            problem = f"is not understood from '{plain[place:]}' on"
            raise _ROLLER.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
        place = found.end()
        count = found["set"] or found["bracket"] or found["pieces"]
        if count:
            counts.append(int(count))
            letters += "c"
        elif found["mass"]:
            masses_g.append(parse_number(found["mass"]) * (1000 if found["unit"] == "kg" else 1))
            letters += "m"
        elif found["number"]:
            numbers.append(parse_number(found["number"]))
            letters += "n"
        else:
            letters += {"x": "x", "+": "+", "/": "/", "": "_"}.get(found["mark"].strip(), "s")
    return _Shape(letters, tuple(numbers), tuple(masses_g), tuple(counts))


def _refuse_shape(shape: _Shape, raw: str) -> BadNotation:
    """Why a text of roller tokens is no roller size."""
    sizes = len(shape.numbers)
    is_alternative = re.search(r"m[^m]*/n?x?m|n[xs/_]n[xs_]n/m", shape.letters) is not None
    if is_alternative or (len(shape.masses_g) > 1 and sizes >= 2):
        return _ROLLER.refuse(raw, "names two masses, so two articles", reason=Refusal.MULTIPLE_VALUES)
    if sizes < 2:
        return _ROLLER.refuse(raw, "lacks diameter and width", reason=Refusal.TOO_FEW_NUMBERS)
    if sizes + len(shape.masses_g) + len(shape.counts) > 3:
        return _ROLLER.refuse(raw, "has too many numbers", reason=Refusal.TOO_MANY_NUMBERS)
    return _ROLLER.refuse(raw, "has its numbers in no known order", reason=Refusal.NOT_RECOGNISED)


def _check_band(value: float, band: tuple[float, float], name: str, raw: str) -> None:
    if not band[0] <= value <= band[1]:
        problem = f"has the {name} {format_number(value)}, which is not within {band[0]:g} to {band[1]:g}"
        raise _ROLLER.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)


def _whole_count(value: float, raw: str) -> int:
    if not value.is_integer():
        problem = f"has the count {format_number(value)}, which is not a whole number"
        raise _ROLLER.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return int(value)


def _with_size(first: float, second: float, raw: str) -> RollerReading:
    od_mm, width_mm = max(first, second), min(first, second)
    if first == second:
        problem = "has a diameter equal to its width"
        raise _ROLLER.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)
    _check_band(od_mm, OD_MM, "diameter", raw)
    _check_band(width_mm, WIDTH_MM, "width", raw)
    flags = frozenset({Flag.REORDERED}) if second > first else frozenset()
    return RollerReading(od_mm=od_mm, width_mm=width_mm, flags=flags, raw=raw)


def _with_mixed(reading: RollerReading, shape: _Shape, raw: str) -> RollerReading:
    counts = [_whole_count(value, raw) for value in shape.numbers[2 : 2 + len(shape.masses_g)]]
    mixed = tuple(MixedMass(count, mass) for count, mass in zip(counts, shape.masses_g, strict=True))
    for part in mixed:
        _check_band(part.mass_g, MASS_G, "mass", raw)
    total_g = round(sum(part.count * part.mass_g for part in mixed), 6)
    return replace(reading, mixed=mixed, count=sum(counts), mass_g_total=total_g)


def _with_bare_mass(reading: RollerReading, mass_g: float, *, has_count: bool) -> RollerReading:
    flags = {Flag.UNIT_ASSUMED}
    if mass_g == _USUAL_COUNT and not has_count:
        flags.add(Flag.AMBIGUOUS_MASS_COUNT)
    return replace(reading, mass_g=mass_g, flags=reading.flags | flags)


def _reading_of(shape: _Shape, raw: str) -> RollerReading:
    letters = shape.letters.replace("/", "s")
    found = re.fullmatch(_SHAPE, letters)
    if found is None or re.search(r"m.*/m|n.n.n/m", shape.letters) or len(shape.counts) > 1:
        raise _refuse_shape(shape, raw)
    if found["mass_first"] and (found["mass"] or found["bare"] or found["mixed"]):
        raise _refuse_shape(shape, raw)
    reading = _with_size(shape.numbers[0], shape.numbers[1], raw)
    counts = list(shape.counts)
    if found["count_after"]:
        counts.append(_whole_count(shape.numbers[-1], raw))
    if found["mixed"]:
        reading = _with_mixed(reading, shape, raw)
        counts.insert(0, reading.count or 0)
    elif found["bare"]:
        reading = _with_bare_mass(reading, shape.numbers[2], has_count=bool(counts))
    elif shape.masses_g:
        reading = replace(reading, mass_g=shape.masses_g[0])
    if len(set(counts)) > 1:
        raise _ROLLER.refuse(raw, "gives two counts that differ", reason=Refusal.CONTRADICTORY)
    return replace(reading, count=counts[0]) if counts else reading


def parse_roller(text: str) -> RollerReading:
    """Roller size in a text.

    Raises:
        BadNotation: not a roller size; ``reason`` says why.

    Example:
        >>> parse_roller("15 x 12 - 7 g x 6").count
        6
    """
    cleaned = clean_numbers(text, _ROLLER)
    plain = cleaned.text.lower()
    if re.search(r"~|(?<![a-z])to(?![a-z])", plain):
        raise _ROLLER.refuse(text, "is a range, not one size", reason=Refusal.MULTIPLE_VALUES)
    if has_lost_number(plain, "-x/;,+"):
        problem = "has a separator without a number beside it"
        raise _ROLLER.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    reading = _reading_of(_scan(plain, text), text)
    if reading.mass_g is not None:
        _check_band(reading.mass_g, MASS_G, "mass", text)
    if reading.count is not None:
        _check_band(reading.count, COUNT, "count", text)
    return replace(reading, flags=reading.flags | cleaned.flags)


def format_roller(reading: RollerReading) -> str:
    """The one spelling: DIAMETERxWIDTH, mass, count.

    Example:
        >>> format_roller(parse_roller("6 pcs 13x16 7g"))
        '16x13 7g x 6'
    """
    text = f"{format_number(reading.od_mm)}x{format_number(reading.width_mm)}"
    if reading.mixed:
        return f"{text} " + "+".join(f"{m.count}x{format_number(m.mass_g)}g" for m in reading.mixed)
    if reading.mass_g is not None:
        text += f" {format_number(reading.mass_g)}g"
        return text if reading.count is None else f"{text} x {reading.count}"
    return text if reading.count is None else f"{text} ({reading.count})"
