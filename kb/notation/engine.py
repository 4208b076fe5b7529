"""Engine type designations of Chinese national practice, stamped on the crankcase: 139QMB, 1P52QMI.

Cylinders, arrangement (P, V), stroke (E), bore in whole mm, cooling (F, Q), M for motorcycle use, class
letter; on the case often between stars with the serial number. The rule is GB/T 725 (order and most
letters published; stroke E, cooling Q and the class letters from memory). **It identifies the basic
engine only**: belt, shaft length and wheel size differ within one code, and cylinders are swapped. It
may narrow an answer, never prove it.

Good: ``QMB139`` (letters first, a habit of the trade). Refused: ``39QMB`` (the cylinder figure is missing).
"""

import math
import re
from dataclasses import dataclass
from typing import ClassVar

from kb.notation.cleanup import clean
from kb.notation.reading import Flag, Notation, Reading
from kb.terms import Refusal

CLASS_CC = {
    "A": 50,
    "B": 50,
    "C": 60,
    "D": 70,
    "E": 80,
    "F": 90,
    "G": 100,
    "H": 110,
    "I": 125,
    "J": 150,
    "K": 175,
    "L": 200,
    "M": 250,
}
STROKE_TO_BORE = (0.75, 1.25)
_ARRANGEMENTS = {"": "single_or_inline", "P": "horizontal", "V": "v"}
_COOLINGS = {"": "liquid", "F": "natural_air", "Q": "forced_air"}

_ENGINE = Notation(
    "Engine designation", "write cylinders, bore, cooling letter, M and class letter, for example 139QMB"
)
_DIGIT = r"[0-9OolI|]"
_SIZE = rf"(?P<cylinders>{_DIGIT})(?P<arrangement>[PVpv]?)(?P<stroke>[Ee]?)(?P<bore>{_DIGIT}{{2}})"
_LETTERS = r"(?P<cooling>[A-Za-z]?)(?P<use>[A-Za-z])(?P<class>[A-Za-z81])"
_SUFFIX = r"(?:-(?P<suffix>[A-Za-z0-9][A-Za-z0-9.-]{0,15}))?"
_STAMPED = r"\* ?(?P<code>[^*]+?) ?(?:\* ?(?P<serial>[A-Za-z0-9][A-Za-z0-9 -]{0,29}?) ?)?\*?"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineReading(Reading):
    """A type designation. ``bore_mm`` has its fraction dropped; ``class_cc`` is the nominal class."""

    kind: ClassVar[str] = "engine"
    cylinders: int
    arrangement: str
    strokes: int
    bore_mm: int
    cooling: str
    class_letter: str
    class_cc: int
    use: str = "motorcycle"
    suffix: str | None = None
    serial: str | None = None


def _match_code(code: str) -> tuple[re.Match[str], bool] | None:
    """Match of a code without blanks, and whether the letters stand first."""
    for candidate in (code, code.replace("-", "", 1)):
        for pattern, is_letters_first in ((_SIZE + _LETTERS, False), (_LETTERS + _SIZE, True)):
            found = re.fullmatch(pattern + _SUFFIX, candidate)
            if found:
                return found, is_letters_first
    return None


def _repair(token: str, neighbour: str) -> str:
    """Digits of a place, mended where a real digit stands in it or right beside it; else as they are."""
    if not re.search("[0-9]", token + neighbour):
        return token
    return re.sub("[Oo]", "0", re.sub("[lI|]", "1", token))


def _letters_of(found: re.Match[str], raw: str) -> tuple[str, str]:
    """Cooling letter and class letter, with the three misreadings of these places mended."""
    cooling = found["cooling"].upper().replace("O", "Q")
    if cooling not in _COOLINGS:
        problem = f"has the cooling letter '{cooling}'; known are F, Q or none"
        raise _ENGINE.refuse(raw, problem, reason=Refusal.UNKNOWN_COOLING_LETTER)
    use = found["use"].upper()
    if use != "M":
        problem = f"has the use letter '{use}', not M for motorcycle"
        raise _ENGINE.refuse(raw, problem, reason=Refusal.NOT_MOTORCYCLE)
    class_letter = found["class"].upper().replace("8", "B").replace("1", "I")
    if class_letter not in CLASS_CC:
        problem = f"has the class letter '{class_letter}'; known are A to M"
        raise _ENGINE.refuse(raw, problem, reason=Refusal.UNKNOWN_CLASS_LETTER)
    return cooling, class_letter


def _sizes_of(found: re.Match[str], raw: str) -> tuple[int, int]:
    """Cylinders and bore [mm], with misread digits mended."""
    is_together = not found["arrangement"] and not found["stroke"]
    bore = _repair(found["bore"], found["cylinders"] if is_together else "")
    cylinders = _repair(found["cylinders"], bore if is_together else "")
    if not (cylinders.isdigit() and bore.isdigit()) or cylinders == "0":
        problem = "has no figure for the cylinders and two for the bore"
        raise _ENGINE.refuse(raw, problem, reason=Refusal.NOT_RECOGNISED)
    if bore == "00":
        raise _ENGINE.refuse(raw, "has a bore of zero", reason=Refusal.OUT_OF_RANGE)
    return int(cylinders), int(bore)


def is_displacement_plausible(cylinders: int, bore_mm: float, *, class_cc: float) -> bool:
    """Whether the class is reached with a stroke of 0.75 to 1.25 times the bore.

    Source: judgement of this project, checked on bores and strokes of usual engines.

    Example:
        >>> is_displacement_plausible(1, 52, class_cc=125), is_displacement_plausible(1, 52, class_cc=150)
        (True, False)
    """
    stroke_mm = class_cc * 1000 / (cylinders * math.pi / 4 * bore_mm**2)
    return STROKE_TO_BORE[0] <= stroke_mm / bore_mm <= STROKE_TO_BORE[1]


def parse_engine(text: str) -> EngineReading:
    """Engine designation in a text.

    Raises:
        BadNotation: not such a designation; ``reason`` says why.

    Example:
        >>> parse_engine("*1P52QMI*A1234*").serial
        'A1234'
    """
    plain = clean(text, _ENGINE, keeps_star=True)
    stamped = re.fullmatch(_STAMPED, plain if plain.startswith("*") else f"*{plain}")
    code = stamped["code"].replace(" ", "") if stamped else ""
    matched = _match_code(code)
    if stamped is None or matched is None:
        problem = "is not of that form"
        raise _ENGINE.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    found, is_letters_first = matched
    cylinders, bore_mm = _sizes_of(found, text)
    cooling, class_letter = _letters_of(found, text)
    flags = {Flag.REORDERED} if is_letters_first else set()
    class_cc = CLASS_CC[class_letter]
    written = (found["cylinders"], found["bore"], found["cooling"].upper(), found["class"].upper())
    if written != (str(cylinders), f"{bore_mm:02d}", cooling, class_letter):
        flags.add(Flag.OCR_FIXED)
    if not is_displacement_plausible(cylinders, bore_mm, class_cc=class_cc):
        flags.add(Flag.DISPLACEMENT_IMPLAUSIBLE)
    return EngineReading(
        cylinders=cylinders,
        arrangement=_ARRANGEMENTS[found["arrangement"].upper()],
        strokes=2 if found["stroke"] else 4,
        bore_mm=bore_mm,
        cooling=_COOLINGS[cooling],
        class_letter=class_letter,
        class_cc=class_cc,
        suffix=found["suffix"].upper() if found["suffix"] else None,
        serial=stamped["serial"].upper() if stamped["serial"] else None,
        flags=frozenset(flags),
        raw=text,
    )


def format_engine(reading: EngineReading) -> str:
    """The one spelling, figures first; between stars when the serial number is known.

    Example:
        >>> format_engine(parse_engine("qmi 1p52"))
        '1P52QMI'
    """
    arrangement = next(k for k, v in _ARRANGEMENTS.items() if v == reading.arrangement)
    cooling = next(k for k, v in _COOLINGS.items() if v == reading.cooling)
    stroke = "E" if reading.strokes == 2 else ""
    suffix = f"-{reading.suffix}" if reading.suffix else ""
    size = f"{reading.cylinders}{arrangement}{stroke}{reading.bore_mm:02d}"
    code = f"{size}{cooling}M{reading.class_letter}{suffix}"
    return f"*{code}*{reading.serial}*" if reading.serial else code
