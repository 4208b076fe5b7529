"""Metric threads as drawings, manuals and lists write them: M10x1.25, M8x1.25x25-8.8, M28x1-LH.

M, the diameter, then pitch, length, tolerance class, property class and LH for left hand. Issued as
ISO 965-1 (designation; that LH comes last is from memory) and ISO 261 (pitches). A thread without a
pitch has the coarse one. A thread written without a hand reads as right-hand: do not copy that into a
shaft nut whose hand is not known.

Good: ``M28 x 1 LH``. Refused: ``1/4-20`` (an inch thread, not converted), ``M8x2`` (a length below 3 mm).
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from kb.errors import BadNotation
from kb.notation.cleanup import CleanText, clean_numbers
from kb.notation.reading import NUMBER, Flag, Notation, Reading, format_number, parse_number
from kb.standards.threads import find_coarse_pitch_mm, find_metric_thread, list_metric_threads
from kb.terms import Hand, Refusal

D_MM = (1.0, 100.0)
LENGTH_MM = (3.0, 1000.0)
_LARGEST_PITCH_MM = 6.0  # of ISO 261, from memory

_THREAD = Notation("Thread", "write M, the diameter, x and the pitch, for example M10x1.25")
_INCH_MARKS = r"[0-9] ?/ ?[0-9]|#|[\"“”″]|\b(?:UNC|UNF|UNEF|UNS|BSW|BSF|BSP|NPT|WHITWORTH)\b"
_FORM = rf"(?P<prefix>M)? ?(?P<sizes>{NUMBER}(?: ?x ?{NUMBER})*)(?: ?mm)?(?P<marks>(?:(?: ?- ?| )?{{mark}})*)"
_MARK = (
    r"(?:(?P<hand>LH|RH|left(?:[- ]hand)?|right(?:[- ]hand)?)(?![A-Za-z])"
    r"|(?P<property>[0-9]{1,2}\.[0-9](?![0-9.A-Za-z])|A[1-5]-[0-9]{2,3}(?![0-9A-Za-z]))"
    r"|(?P<tolerance>[3-9][A-Za-z](?:[3-9][A-Za-z])?(?![0-9A-Za-z])))"
)
_PROPERTY_CLASSES = frozenset({"3.6", "4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9"})


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadReading(Reading):
    """A metric thread. Pitch and series are None where the table has no coarse pitch to imply."""

    kind: ClassVar[str] = "thread"
    d_mm: float
    pitch_mm: float | None = None
    series: str | None = None
    hand: Hand = Hand.RIGHT
    length_mm: float | None = None
    tolerance_class: str | None = None
    property_class: str | None = None


def find_largest_pitch_mm(d_mm: float) -> float:
    """Largest number [mm] behind a diameter [mm] that is read as a pitch, not as a length.

    The coarse pitch of the diameter; for a diameter that has none, that of the next larger one.

    Example:
        >>> find_largest_pitch_mm(10), find_largest_pitch_mm(28)
        (1.5, 3.5)
    """
    coarse = [t for t in list_metric_threads() if t.series == "coarse" and t.d_mm >= d_mm]
    return min(coarse, key=lambda t: t.d_mm).pitch_mm if coarse else _LARGEST_PITCH_MM


def _split(cleaned: CleanText, raw: str) -> tuple[re.Match[str], list[re.Match[str]]]:
    plain = cleaned.text.replace("X", "x")
    unnamed_mark = re.sub(r"\?P<[a-z]+>", "?:", _MARK)
    found = re.fullmatch(_FORM.replace("{mark}", unnamed_mark), plain, re.IGNORECASE)
    if found is None:
        if re.fullmatch(r"M ?(?:x|-)?", plain, re.IGNORECASE):
            raise _THREAD.refuse(raw, "lacks the diameter", reason=Refusal.TOO_FEW_NUMBERS)
        problem = "is not a diameter with a pitch, a length and known marks"
        raise _THREAD.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return found, list(re.finditer(_MARK, found["marks"], re.IGNORECASE))


def _marks_of(marks: Sequence[re.Match[str]], raw: str) -> dict[str, str]:
    values: dict[str, str] = {}
    for mark in marks:
        name = str(mark.lastgroup)
        if name in values:
            raise _THREAD.refuse(raw, f"gives the {name} twice", reason=Refusal.CONTRADICTORY)
        values[name] = mark[0]
    is_known = "property" not in values or values["property"][0] in "Aa"
    if not is_known and values["property"] not in _PROPERTY_CLASSES:
        problem = f"has '{values['property']}', which is no property class of a screw"
        raise _THREAD.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    return values


def _refuse_range(name: str, value: float, band: str, raw: str) -> BadNotation:
    problem = f"has the {name} {format_number(value)}, which is not {band}"
    return _THREAD.refuse(raw, problem, reason=Refusal.OUT_OF_RANGE)


def _pitch_and_length(sizes: Sequence[float], raw: str) -> tuple[float | None, float | None]:
    """Pitch and length as written. The second number is a pitch when it can be one."""
    if not D_MM[0] <= sizes[0] <= D_MM[1]:
        raise _refuse_range("diameter", sizes[0], "within 1 to 100 mm", raw)
    largest_mm = find_largest_pitch_mm(sizes[0])
    if len(sizes) == 3 and sizes[1] > largest_mm:
        raise _refuse_range("pitch", sizes[1], f"at most {format_number(largest_mm)} mm", raw)
    if len(sizes) > 1 and sizes[1] <= largest_mm:
        pitch_mm, length_mm = sizes[1], sizes[2] if len(sizes) == 3 else None
    else:
        pitch_mm, length_mm = None, sizes[1] if len(sizes) == 2 else None
    if pitch_mm is not None and pitch_mm <= 0:
        raise _refuse_range("pitch", pitch_mm, "above 0", raw)
    if length_mm is not None and not LENGTH_MM[0] <= length_mm <= LENGTH_MM[1]:
        raise _refuse_range("length", length_mm, "within 3 to 1000 mm", raw)
    return pitch_mm, length_mm


def _series_of(d_mm: float, pitch_mm: float | None) -> str | None:
    coarse_mm = find_coarse_pitch_mm(d_mm)
    if pitch_mm is None:
        return None
    if coarse_mm is not None:
        return "coarse" if pitch_mm == coarse_mm else "fine"
    listed = find_metric_thread(d_mm, pitch_mm)
    return listed.series if listed else None


def parse_thread(text: str) -> ThreadReading:
    """Metric thread in a text.

    Raises:
        BadNotation: not a metric thread; ``reason`` says why.

    Example:
        >>> parse_thread("M6x20").length_mm, parse_thread("M10x1,25").series
        (20.0, 'fine')
    """
    cleaned = clean_numbers(text, _THREAD)
    if re.search(_INCH_MARKS, cleaned.text, re.IGNORECASE):
        problem = "is an inch thread, which is not converted"
        raise _THREAD.refuse(text, problem, reason=Refusal.INCH_THREAD)
    found, marks = _split(cleaned, text)
    values = _marks_of(marks, text)
    sizes = [parse_number(token) for token in re.findall(NUMBER, found["sizes"])]
    if len(sizes) > 3:
        raise _THREAD.refuse(text, "has more than three sizes", reason=Refusal.TOO_MANY_NUMBERS)
    written_mm, length_mm = _pitch_and_length(sizes, text)
    pitch_mm = find_coarse_pitch_mm(sizes[0]) if written_mm is None else written_mm
    flags = set(cleaned.flags)
    if pitch_mm is None or find_metric_thread(sizes[0], pitch_mm) is None:
        flags.add(Flag.PITCH_NOT_LISTED)
    if not found["prefix"]:
        flags.add(Flag.PREFIX_MISSING)
    property_class = values.get("property")
    return ThreadReading(
        d_mm=sizes[0],
        pitch_mm=pitch_mm,
        series=_series_of(sizes[0], pitch_mm),
        hand=Hand.LEFT if values.get("hand", "r")[0] in "Ll" else Hand.RIGHT,
        length_mm=length_mm,
        tolerance_class=values.get("tolerance"),
        property_class=property_class.upper() if property_class else None,
        flags=frozenset(flags),
        raw=text,
    )


def format_thread(reading: ThreadReading) -> str:
    """The one spelling: diameter, pitch where known, length, classes, LH last.

    Example:
        >>> format_thread(parse_thread("M8 x 25 8.8 left"))
        'M8x1.25x25-8.8-LH'
    """
    sizes = [v for v in (reading.d_mm, reading.pitch_mm, reading.length_mm) if v is not None]
    text = "M" + "x".join(format_number(value) for value in sizes)
    marks = [reading.tolerance_class, reading.property_class, "LH" if reading.hand is Hand.LEFT else None]
    return "-".join([text, *(mark for mark in marks if mark)])
