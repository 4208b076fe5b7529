"""One thing wrong or worth knowing in a file, as data: where it stands, what was found, what to do."""

from dataclasses import dataclass

SHOWN_CHARACTERS = 80


@dataclass(frozen=True, slots=True)
class Problem:
    """A refused cell or row; ``line`` as an editor shows it, the heading being line 1."""

    line: int
    column: str | None
    value: str | None
    message: str


@dataclass(frozen=True, slots=True)
class Notice:
    """Something about a row that a person should know; the row is not refused for it.

    ``topic`` is one of ``left_out``, ``read_from_text``, ``assumed``, ``number_as_code``, ``duplicate``,
    ``conflict``, ``heading``. ``choice`` is the stored part number that may be meant.
    """

    line: int
    topic: str
    column: str | None
    value: str | None
    message: str
    choice: str | None = None


def shorten(text: str) -> str:
    """Text fit for a message: at most 80 characters, unprintable ones escaped.

    Example:
        >>> shorten("a" * 100)[-3:]
        'aa…'
        >>> shorten("one\\ttwo")
        'one\\\\ttwo'
    """
    if not text.isprintable():
        text = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text[:200])
    return text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 1] + "…"
