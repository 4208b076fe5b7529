"""Tyre sizes as moulded into the side wall: 120/70-12 51L, 3.50-10 51J.

Width in mm with the aspect ratio, or width in inches with two decimals; the construction (``-`` bias,
``B`` bias-belted, ``R`` radial), the rim in inches, then marks in any order: load index with speed
symbol, M/C, TL or TT, ply rating. Issued by ETRTO and ISO (from memory, load and speed tables too). It
does not tell the rolling circumference.

Good: ``130/60-13 M/C 53L``. Refused: ``120/70`` (no rim), ``70/120-12`` (width and aspect swapped).
"""

import re
from dataclasses import dataclass
from typing import Any, ClassVar

from kb.notation.cleanup import clean_numbers
from kb.notation.reading import Flag, Notation, Reading, parse_number
from kb.terms import Refusal

WIDTH_MM = (60.0, 200.0)
WIDTH_IN = (1.0, 9.0)
ASPECT_PCT = (40.0, 100.0)
RIM_IN = (4.0, 23.0)
MAX_LOAD_KG = {
    38: 132,
    42: 150,
    43: 155,
    44: 160,
    46: 170,
    47: 175,
    48: 180,
    49: 185,
    50: 190,
    51: 195,
    52: 200,
    53: 206,
    54: 212,
    55: 218,
    56: 224,
    57: 230,
    58: 236,
    59: 243,
    60: 250,
    61: 257,
    62: 265,
    64: 280,
    66: 300,
}
MAX_KMH = {
    "F": 80,
    "G": 90,
    "J": 100,
    "K": 110,
    "L": 120,
    "M": 130,
    "N": 140,
    "P": 150,
    "Q": 160,
    "R": 170,
    "S": 180,
}

_TYRE = Notation(
    "Tyre size", "write width, aspect, construction and rim, for example 120/70-12 51L or 3.50-10"
)
_WIDTH = (
    r"(?:(?P<width_mm>[0-9]{2,3})(?P<slash> ?[-/] ?)(?P<aspect>[0-9]{2,3})|(?P<width_in>[0-9]\.[0-9]{2}))"
)
_RIM = r"(?P<construction> ?[-/] ?| ?[BR] ?)(?P<rim>[0-9]{1,2})(?![0-9.])"
_CONSTRUCTIONS = {"-": "bias", "/": "bias", "B": "bias_belted", "R": "radial"}


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreReading(Reading):
    """A tyre size; the width stands in mm or in inches, as printed."""

    kind: ClassVar[str] = "tyre"
    construction: str
    rim_in: int
    width_mm: float | None = None
    width_in: float | None = None
    aspect_pct: float | None = None
    load_index: int | None = None
    speed_symbol: str | None = None
    max_load_kg: int | None = None
    max_kmh: int | None = None
    tubeless: bool | None = None
    motorcycle: bool | None = None
    ply_rating: int | None = None


def _mark_of(word: str) -> dict[str, Any] | None:
    """What one mark behind the rim says, or None when it is not known."""
    if word in ("TL", "TUBELESS", "TT"):
        return {"tubeless": word != "TT"}
    if word in ("M/C", "MC"):
        return {"motorcycle": True}
    if ply := re.fullmatch(r"([0-9]{1,2})PR", word):
        return {"ply_rating": int(ply[1])}
    if service := re.fullmatch(r"([0-9]{2,3})([A-Z])", word):
        load_index, symbol = int(service[1]), service[2]
        limits = {"max_load_kg": MAX_LOAD_KG.get(load_index), "max_kmh": MAX_KMH.get(symbol)}
        return {"load_index": load_index, "speed_symbol": symbol, **limits}
    return None


def _marks_of(words: list[str], raw: str) -> dict[str, Any]:
    marks: dict[str, Any] = {}
    for word in words:
        mark = _mark_of(word)
        if mark is None:
            raise _TYRE.refuse(raw, f"has the unknown mark '{word}'", reason=Refusal.NOT_RECOGNISED)
        if not marks.keys().isdisjoint(mark):
            raise _TYRE.refuse(raw, "has the same mark twice", reason=Refusal.CONTRADICTORY)
        marks |= mark
    return marks


def _check_band(value: float, band: tuple[float, float], name: str, raw: str) -> None:
    if not band[0] <= value <= band[1]:
        problem = f"has the {name} {value:g}, which is not within {band[0]:g} to {band[1]:g}"
        raise _TYRE.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)


def _width_of(found: re.Match[str], raw: str) -> dict[str, Any]:
    if found["width_in"]:
        width_in = parse_number(found["width_in"])
        _check_band(width_in, WIDTH_IN, "width in inches", raw)
        return {"width_in": width_in}
    width_mm, aspect_pct = float(found["width_mm"]), float(found["aspect"])
    _check_band(width_mm, WIDTH_MM, "width", raw)
    _check_band(aspect_pct, ASPECT_PCT, "aspect ratio", raw)
    return {"width_mm": width_mm, "aspect_pct": aspect_pct}


def parse_tyre(text: str) -> TyreReading:
    """Tyre size in a text.

    Raises:
        BadNotation: not a tyre size; ``reason`` says why.

    Example:
        >>> parse_tyre("120/70-12 51L").max_load_kg
        195
    """
    cleaned = clean_numbers(text, _TYRE)
    plain = cleaned.text.upper()
    found = re.match(_WIDTH, plain)
    if found is None or plain[found.end() : found.end() + 1].isdigit():
        problem = "does not begin with a width and an aspect ratio, or with inches to two decimals"
        raise _TYRE.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    rim = re.compile(_RIM).match(plain, found.end())
    if rim is None:
        raise _TYRE.refuse(text, "lacks construction and rim", reason=Refusal.NO_RIM)
    width = _width_of(found, text)
    rim_in = int(rim["rim"])
    _check_band(rim_in, RIM_IN, "rim", text)
    rest = plain[rim.end() :]
    if rest and not rest.startswith(" "):
        raise _TYRE.refuse(text, f"is not understood from '{rest}' on", reason=Refusal.NOT_RECOGNISED)
    marks = _marks_of(rest.split(), text)
    construction = rim["construction"].strip()
    is_unusual = (found["slash"] or "/").strip() == "-" or construction == "/"
    return TyreReading(
        construction=_CONSTRUCTIONS[construction],
        rim_in=rim_in,
        **width,
        **marks,
        flags=cleaned.flags | {Flag.SEPARATOR_UNUSUAL} if is_unusual else cleaned.flags,
        raw=text,
    )


def format_tyre(reading: TyreReading) -> str:
    """The one spelling: size, M/C, service description, ply rating, TL or TT.

    Example:
        >>> format_tyre(parse_tyre("130-60-13 TL 53L"))
        '130/60-13 53L TL'
    """
    sign = {"bias": "-", "bias_belted": "B", "radial": "R"}[reading.construction]
    if reading.width_in is not None:
        size = f"{reading.width_in:.2f}"
    else:
        size = f"{reading.width_mm:g}/{reading.aspect_pct:g}"
    parts = [f"{size}{sign}{reading.rim_in}"]
    if reading.motorcycle:
        parts.append("M/C")
    if reading.load_index is not None:
        parts.append(f"{reading.load_index}{reading.speed_symbol}")
    if reading.ply_rating is not None:
        parts.append(f"{reading.ply_rating}PR")
    if reading.tubeless is not None:
        parts.append("TL" if reading.tubeless else "TT")
    return " ".join(parts)
