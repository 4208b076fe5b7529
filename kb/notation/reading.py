"""What all readings share: the flags, the raw text, the spelling of numbers and of refusals."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar

from kb.errors import BadNotation
from kb.terms import Refusal

# One number as it is written, after clean-up; always plain ASCII digits.
NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_DECIMALS = 6
_SHOWN_CHARACTERS = 60


class Flag(StrEnum):
    """What a person should know about how a reading came about."""

    DECIMAL_COMMA = "decimal_comma"
    OCR_FIXED = "ocr_fixed"
    REORDERED = "reordered"
    AMBIGUOUS_WIDTH_ANGLE = "ambiguous_width_angle"
    AMBIGUOUS_MASS_COUNT = "ambiguous_mass_count"
    UNIT_ASSUMED = "unit_assumed"
    SECTION_NOT_LISTED = "section_not_listed"
    PITCH_NOT_LISTED = "pitch_not_listed"
    PREFIX_MISSING = "prefix_missing"
    DISPLACEMENT_IMPLAUSIBLE = "displacement_implausible"
    SEPARATOR_UNUSUAL = "separator_unusual"
    DIMENSIONS_NOT_IN_TABLE = "dimensions_not_in_table"


# A reading with one of these needs a person's yes before it is stored.
DOUBTFUL_FLAGS = frozenset(
    {
        Flag.AMBIGUOUS_WIDTH_ANGLE,
        Flag.AMBIGUOUS_MASS_COUNT,
        Flag.OCR_FIXED,
        Flag.DISPLACEMENT_IMPLAUSIBLE,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a written size or code says. A field that is not written is None.

    ``raw`` is the text as it came; two readings are compared without it.
    """

    kind: ClassVar[str]
    flags: frozenset[str] = frozenset()
    raw: str = field(default="", compare=False)

    @property
    def is_doubtful(self) -> bool:
        """Whether a person must confirm the reading before it is stored."""
        return not self.flags.isdisjoint(DOUBTFUL_FLAGS)


@dataclass(frozen=True, slots=True)
class Notation:
    """How a notation is named and explained in a refusal.

    ``accepted`` completes the sentence: "write ..., for example ...".
    """

    name: str
    accepted: str

    def refuse(self, text: str, problem: str, *, reason: Refusal) -> BadNotation:
        """The refusal of a text, as a whole sentence."""
        return BadNotation(f"{self.name} '{show_text(text)}' {problem}; {self.accepted}.", reason=reason)


def show_text(text: str) -> str:
    """Text as it can stand in one line of a message: printable, and cut when long.

    Example:
        >>> show_text("788\\n17")
        '788 17'
    """
    start = text[: _SHOWN_CHARACTERS + 1]
    shown = "".join(c if c.isprintable() else " " for c in start)
    return shown if len(text) <= _SHOWN_CHARACTERS else shown[:-1] + "…"


def parse_number(token: str) -> float:
    """Value of a token that matches ``NUMBER``, to the sixth decimal."""
    return round(float(token), _DECIMALS)


def format_number(value: float) -> str:
    """Shortest spelling of a number to the sixth decimal, without an exponent.

    Example:
        >>> format_number(17.0), format_number(15.5)
        ('17', '15.5')
    """
    text = f"{value:.{_DECIMALS}f}"
    return text.rstrip("0").rstrip(".")
