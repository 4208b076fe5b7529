"""Bearing codes as etched into the ring: 6202-2RS C3, 6902ZZ, HK2016; or the envelope 20x47x14.

The last two figures of a deep-groove code give the bore: 00 10 mm, 01 12, 02 15, 03 17, from 04 five
times. 68xx and 69xx are short for 618xx and 619xx. HK and four figures: drawn-cup needle bearing, bore
and width. Dimensions are those of ISO 15 by table; designation practice from memory, the composition of
HK numbers published. Clearance is part of fit: 6004 and 6004 C3 are two articles. Seal letters that are
one maker's own are kept as text.

Good: ``6902ZZ``. Refused: ``62022RS`` (where does the code end?), ``6202 NR`` (a groove, not a seal).
"""

import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import CleanText, clean_numbers
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.standards.bearings import find_bearing_dimensions
from kb.terms import Refusal

_SMALL_BORES_MM = {"00": 10.0, "01": 12.0, "02": 15.0, "03": 17.0}
_SAME_SEAL = {"ZZ": "2Z"}
# Made of the letters of seals, but says that the outer ring has a groove and a snap ring.
_NO_SEAL = frozenset({"NR"})
# Letters that makers use for seals and shields; others would take "mm" or "rpm" for a seal.
_SEAL_LETTERS = r"[0-9]?Z|[0-9]?[RSZDLUVNKEHBPW]{2,4}[0-9]?"

_BEARING = Notation("Bearing code", "write the code with its suffixes, for example 6202-2RS C3 or HK2016")
_CODE = r"(?P<needle>HK) ?(?P<needle_size>[0-9]{4})|(?P<ball>6[0-9]{2,3}|(?:618|619|160)[0-9]{2})"
_SUFFIX = r"(?:(?: ?[-/] ?| )[0-9A-Z]+)*"


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingReading(Reading):
    """A bearing. An envelope without a code has neither ``code`` nor ``family``."""

    kind: ClassVar[str] = "bearing"
    code: str | None = None
    family: str | None = None
    bore_mm: float | None = None
    od_mm: float | None = None
    width_mm: float | None = None
    seal: str | None = None
    clearance: str | None = None


def _bore_of_code(code: str) -> float:
    """Bore [mm] that the figures of a deep-groove code give."""
    if len(code) == 3:
        return float(code[-1])
    return _SMALL_BORES_MM.get(code[-2:], float(code[-2:]) * 5)


def _has_unclear_end(code: str, glued: str | None) -> bool:
    """Whether the last figure may begin the suffix, as in 6082RS: the code 608 with seal 2RS."""
    is_possible = code[-1] == "2" and bool(glued)
    return is_possible and not find_bearing_dimensions(code) and bool(find_bearing_dimensions(code[:-1]))


def _suffixes_of(written: str, raw: str) -> tuple[str | None, str | None]:
    """Seal and clearance."""
    seal: str | None = None
    clearance: str | None = None
    for word in re.findall(r"[0-9A-Z]+", written):
        is_clearance = re.fullmatch(r"C[2-5]|CN", word) is not None
        is_seal = re.fullmatch(_SEAL_LETTERS, word) is not None and word not in _NO_SEAL
        if is_clearance and clearance is None:
            clearance = word
        elif is_seal and seal is None:
            seal = _SAME_SEAL.get(word, word)
        else:
            problem = f"has the suffix '{word}', which is not understood"
            raise _BEARING.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return seal, clearance


def _envelope_of(cleaned: CleanText, raw: str) -> BearingReading | None:
    """Bore, outside and width when the text is three sizes, in this order."""
    found = re.fullmatch(rf"({NUMBER})(?: ?[X/;,-] ?| )({NUMBER})(?: ?[X/;,-] ?| )({NUMBER})(?: ?MM)?",
                         cleaned.text.upper())  # fmt: skip
    if found is None:
        return None
    bore_mm, od_mm, width_mm = (parse_number(token) for token in found.groups())
    if not 0 < bore_mm < od_mm or width_mm <= 0:
        problem = "is not bore, larger outside diameter and width"
        raise _BEARING.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)
    return BearingReading(bore_mm=bore_mm, od_mm=od_mm, width_mm=width_mm, flags=cleaned.flags, raw=raw)


def _needle_size_of(size: str, raw: str) -> tuple[float, float]:
    """Bore and width [mm] that the figures behind HK give."""
    bore_mm, width_mm = float(size[:2]), float(size[2:])
    if not bore_mm or not width_mm:
        raise _BEARING.refuse(raw, "has a size of zero", reason=Refusal.OUT_OF_RANGE)
    return bore_mm, width_mm


def parse_bearing(text: str) -> BearingReading:
    """Bearing in a text.

    Raises:
        BadNotation: not a bearing; ``reason`` says why.

    Example:
        >>> parse_bearing("6902ZZ").seal, parse_bearing("6299").bore_mm
        ('2Z', 495.0)
    """
    cleaned = clean_numbers(text, _BEARING)
    envelope = _envelope_of(cleaned, text)
    if envelope:
        return envelope
    pattern = rf"(?:{_CODE})(?P<glued>[A-Z][0-9A-Z]*)?(?P<suffixes>{_SUFFIX})"
    found = re.fullmatch(pattern, cleaned.text.upper())
    if found is None or (found["ball"] and _has_unclear_end(found["ball"], found["glued"])):
        problem = "is no code of a deep-groove ball or drawn-cup needle bearing"
        raise _BEARING.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    seal, clearance = _suffixes_of(f"{found['glued'] or ''} {found['suffixes']}", text)
    width_mm: float | None = None
    if found["needle"]:
        code, family = f"HK{found['needle_size']}", "drawn_cup_needle"
        bore_mm, width_mm = _needle_size_of(found["needle_size"], text)
    else:
        code, family = found["ball"], "deep_groove"
        bore_mm = _bore_of_code(code)
    listed = find_bearing_dimensions(code)
    return BearingReading(
        code=code,
        family=family,
        bore_mm=listed.bore_mm if listed else bore_mm,
        od_mm=listed.od_mm if listed else None,
        width_mm=listed.width_mm if listed else width_mm,
        seal=seal,
        clearance=clearance,
        flags=cleaned.flags if listed else cleaned.flags | {Flag.DIMENSIONS_NOT_IN_TABLE},
        raw=text,
    )


def format_bearing(reading: BearingReading) -> str:
    """The one spelling: code, seal behind a hyphen, clearance behind a blank; or the envelope.

    Example:
        >>> format_bearing(parse_bearing("6202/2rs/c3"))
        '6202-2RS C3'
    """
    if reading.code is None:
        sizes = (reading.bore_mm, reading.od_mm, reading.width_mm)
        return "x".join(format_number(v) for v in sizes if v is not None)
    seal = f"-{reading.seal}" if reading.seal else ""
    clearance = f" {reading.clearance}" if reading.clearance else ""
    return f"{reading.code}{seal}{clearance}"
