"""Where the table stands in a sheet: the heading below titles, in one line or two; what is no row of it."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from importers.row_groups import RawRow
from kb.standards.heading_words import list_heading_words

SEARCHED_ROWS = 60
LONGEST_HEADING = 120
_TOTAL = re.compile(
    r"\s*(?:grand\s+|sub[- ]?|zwischen|gesamt)?(?:total(?:s|e|en)?|summe|sum|somme|suma|totaal|gesamt)\b"
    r"(?:\s+(?:excl|incl|netto|brutto|net|gross|eur)\b.*)?[\s:.]*",
    re.IGNORECASE,
)
_UNIT = re.compile(
    r"[(\[]?\s*(?:mm|cm|m|in|inch|g|gr|kg|°|deg|rpm|eur|€|usd|\$|gbp|£|chf|pcs|stk|%)\.?\s*[)\]]?",
    re.IGNORECASE,
)
_NUMERIC = re.compile(r"[\s€$£]*[-+]?[0-9][0-9.,\s'’]*[\s€$£%]*(?:[A-Za-z]{1,3})?")


def fold_heading(text: str) -> str:
    """A heading without case, accents, marks and double blanks; the sign # and Ø stay.

    Example:
        >>> fold_heading(" Art.-Nr. "), fold_heading("Part_Number")
        ('art nr', 'part number')
    """
    text = unicodedata.normalize("NFKD", text.casefold())
    kept = (c if c.isalnum() or c in "#ø%" else " " for c in text if not unicodedata.combining(c))
    return " ".join("".join(kept).split())


@cache
def list_folded_words() -> dict[str, frozenset[str]]:
    """Columns that a folded heading stands for; the empty column is one that no column takes."""
    words: dict[str, set[str]] = {}
    for column, name in list_heading_words():
        words.setdefault(fold_heading(name), set()).add(column)
        if column:
            words.setdefault(fold_heading(column), set()).add(column)
    return {word: frozenset(columns) for word, columns in words.items()}


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the heading stands and what it says.

    Args:
        heading: texts of the columns, trailing empty ones left out; a heading of two lines is joined.
        first_line: line of the heading.
        last_line: line of its second row, or the same.
        lower: the lower texts of a heading of two lines; equal to ``heading`` otherwise.
    """

    heading: tuple[str, ...]
    first_line: int
    last_line: int
    lower: tuple[str, ...]


def find_layout(rows: Sequence[RawRow], *, known: Sequence[str] = ()) -> Layout | None:
    """Heading among the first rows of a file; None when no row looks like one.

    Args:
        rows: the first rows, with their lines.
        known: the heading of an earlier file of the same kind, searched for first.
    """
    rows = rows[:SEARCHED_ROWS]
    scores = [_score_row(cells, known) for _line, cells in rows]
    if not scores or max(scores) < 1.0:
        return None
    place = scores.index(max(scores))
    above = place > 0 and _is_upper_line(rows[place - 1], rows[place])
    below = not above and place + 1 < len(rows) and _is_lower_line(rows[place + 1], rows[place])
    if above:
        return _join_lines(rows[place - 1], rows[place])
    if below:
        return _join_lines(rows[place], rows[place + 1])
    line, cells = rows[place]
    heading = tuple(_trim(cells))
    return Layout(heading, line, line, heading)


def _score_row(cells: Sequence[str], known: Sequence[str]) -> float:
    """How much a row looks like a heading: known words in it, less what looks like data."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    if not filled or any(len(cell) > LONGEST_HEADING for cell in filled):
        return 0.0
    words, earlier = list_folded_words(), {fold_heading(name) for name in known}
    folded = [fold_heading(_drop_unit(cell)) for cell in filled]
    met = sum(1.0 for word in folded if word in words)
    met += sum(0.6 for word in folded if word not in words and _is_near_word(word))
    met += sum(2.0 for cell in filled if fold_heading(cell) in earlier)
    data = sum(1.0 for cell in filled if _NUMERIC.fullmatch(cell))
    return met - data


@cache
def _is_near_word(word: str) -> bool:
    from rapidfuzz import fuzz, process  # noqa: PLC0415 - only for headings that are not known

    return len(word) > 3 and process.extractOne(
        word, list(list_folded_words()), scorer=fuzz.ratio, score_cutoff=85
    ) is not None  # fmt: skip


def _drop_unit(text: str) -> str:
    return re.sub(r"[(\[][^)\]]{1,12}[)\]]", " ", text)


def _is_upper_line(upper: RawRow, lower: RawRow) -> bool:
    filled = [cell for cell in upper[1] if cell.strip()]
    if lower[0] - upper[0] != 1 or len(filled) < 2 or any(_NUMERIC.fullmatch(cell) for cell in filled):
        return False
    # An upper line names groups: where it is empty or says more, the lower line is filled.
    words = list_folded_words()
    return any(fold_heading(cell) in words for cell in filled) or len(filled) < _count_filled(lower[1])


def _is_lower_line(lower: RawRow, upper: RawRow) -> bool:
    filled = [cell.strip() for cell in lower[1] if cell.strip()]
    if lower[0] - upper[0] != 1 or not filled or any(_NUMERIC.fullmatch(cell) for cell in filled):
        return False
    words = list_folded_words()
    return all(_UNIT.fullmatch(cell) or fold_heading(cell) in words for cell in filled)


def _count_filled(cells: Sequence[str]) -> int:
    return sum(1 for cell in cells if cell.strip())


def _join_lines(upper: RawRow, lower: RawRow) -> Layout:
    width = max(len(upper[1]), len(lower[1]))
    tops = [*upper[1], *[""] * (width - len(upper[1]))]
    bottoms = [*lower[1], *[""] * (width - len(lower[1]))]
    joined, carried = [], ""
    for top, bottom in zip(tops, bottoms, strict=True):
        # A group heading stands above its first column and holds for the empty cells to the right of it.
        carried = top.strip() or (carried if bottom.strip() else "")
        own = top.strip() or (carried if bottom.strip() and not _UNIT.fullmatch(bottom.strip()) else "")
        below = bottom.strip() if bottom.strip() != own else ""  # cells merged downwards say it twice
        joined.append(" ".join(f"{own} {below}".split()))
    heading = tuple(_trim(joined))
    lower_texts = tuple(cell.strip() for cell in bottoms)[: len(heading)]
    return Layout(heading, upper[0], lower[0], lower_texts)


def _trim(cells: Sequence[str]) -> list[str]:
    trimmed = [" ".join(cell.split()) for cell in cells]
    while trimmed and not trimmed[-1]:
        trimmed.pop()
    return trimmed


def is_total(cells: Sequence[str], *, starts_only: bool = False) -> bool:
    """Whether a row sums up others: its first words say so.

    Args:
        cells: the row.
        starts_only: whatever is summed up may be named behind the word.

    Example:
        >>> is_total(["", "Total:", "12"]), is_total(["Totally new belt", "12"])
        (True, False)
        >>> is_total(["Subtotal belts", "12"]), is_total(["Subtotal belts", "12"], starts_only=True)
        (False, True)
    """
    first = next((cell.strip() for cell in cells if cell.strip()), "")
    return (_TOTAL.match(first) if starts_only else _TOTAL.fullmatch(first)) is not None
