"""Which column of the catalogue a heading of a price list stands for, and how certain that is.

Certain is a heading that the trade uses for one column of the sheet and that stands once. A near spelling is
probable. All else is asked for; nothing is taken because it is the best of bad matches.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from importers.columns import Column
from importers.layout import Layout, fold_heading, list_folded_words
from importers.sheets.sheet import Sheet
from kb.terms import Certainty

NEAR_PERCENT = 88.0
OFFERED_PERCENT = 65.0
MARGIN_PERCENT = 8.0
OFFERED = 3
LEFT_OUT = ""

_BRACKETED = re.compile(r"[(\[]\s*([^)\]]{1,12}?)\s*[)\]]")
_TRAILING_UNIT = re.compile(
    r"(?:^|[\s/_])(mm|cm|in|inch|g|kg|deg|rpm|eur|usd|gbp|chf|€|\$|£|°)\.?$", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class HeadingMatch:
    """A heading with its column (None: not found; empty: left out), how certain, and what else it may be."""

    heading: str
    column: str | None
    certainty: Certainty
    unit: str | None = None
    alternatives: tuple[str, ...] = field(default=())

    @property
    def is_decided(self) -> bool:
        """Whether the heading may be used without asking."""
        return self.column is not None and self.certainty is not Certainty.UNSURE


def match_headings(layout: Layout, sheet: Sheet) -> tuple[HeadingMatch, ...]:
    """Matches of all headings of a table, in their order."""
    columns = {column.name: column for column in sheet.columns}
    matches = [
        _match(heading, lower, columns) for heading, lower in zip(layout.heading, layout.lower, strict=True)
    ]
    taken: Counter[str | None] = Counter(match.column for match in matches if match.column)
    return tuple(_settle(match, taken, matches) for match in matches)


def _settle(match: HeadingMatch, taken: Counter[str | None], matches: Sequence[HeadingMatch]) -> HeadingMatch:
    """Two headings for one column: a certain one beats near ones, two certain ones are asked for."""
    if not match.column or taken[match.column] == 1:
        return match
    rivals = [other for other in matches if other.column == match.column and other is not match]
    if match.certainty is Certainty.SURE and all(o.certainty is not Certainty.SURE for o in rivals):
        return match
    exact = fold_heading(match.heading) == fold_heading(match.column)
    if exact and not any(fold_heading(o.heading) == fold_heading(match.column) for o in rivals):
        return match
    return replace(match, certainty=Certainty.UNSURE, alternatives=(match.column, *match.alternatives))


def _match(heading: str, lower: str, columns: dict[str, Column]) -> HeadingMatch:
    if heading in columns:
        return HeadingMatch(heading, heading, Certainty.SURE)
    if not heading:
        return HeadingMatch(heading, LEFT_OUT, Certainty.SURE)
    plain, unit = split_unit(heading)
    low_plain, low_unit = split_unit(lower)
    words = dict.fromkeys(fold_heading(text) for text in (heading, plain, low_plain) if text.strip())
    unit = unit or low_unit
    for word in words:
        found = _find_columns(word, columns)
        if len(found) == 1:
            return HeadingMatch(heading, found[0], Certainty.SURE, unit)
        if len(found) > 1:
            return HeadingMatch(heading, None, Certainty.UNSURE, unit, tuple(found))
        if word in list_folded_words():  # known as something that is no column here, as a retail price is
            return HeadingMatch(heading, LEFT_OUT, Certainty.SURE, unit)
    return _match_nearly(heading, list(words), columns, unit=unit)


def split_unit(heading: str) -> tuple[str, str | None]:
    """A heading without the unit in brackets or behind it, and the unit.

    Example:
        >>> split_unit("Length (cm)"), split_unit("Preis EUR"), split_unit("Width")
        (('Length', 'cm'), ('Preis', 'EUR'), ('Width', None))
    """
    found = _BRACKETED.search(heading)
    if found is not None:
        return " ".join(_BRACKETED.sub(" ", heading).split()), found[1]
    trailing = _TRAILING_UNIT.search(heading)
    if trailing is not None and trailing.start() > 0:
        return heading[: trailing.start()].strip(), trailing[1]
    return heading, None


def _find_columns(word: str, columns: dict[str, Column]) -> list[str]:
    return sorted(column for column in list_folded_words().get(word, ()) if column in columns)


def _match_nearly(
    heading: str, words: Sequence[str], columns: dict[str, Column], *, unit: str | None
) -> HeadingMatch:
    from rapidfuzz import fuzz  # noqa: PLC0415 - only for headings that are not known

    best: dict[str, float] = {}
    for known, targets in list_folded_words().items():
        score = max(fuzz.ratio(word, known) for word in words)
        for column in targets:
            if score > best.get(column, 0.0) and (column in columns or not column):
                best[column] = score
    ranked = sorted(best.items(), key=lambda item: (-item[1], item[0]))
    offered = tuple(column for column, score in ranked if score >= OFFERED_PERCENT and column)[:OFFERED]
    shortest = min(len(word.rpartition(" ")[2]) for word in words)  # the word that names the thing
    if ranked and shortest > 4 and ranked[0][1] >= NEAR_PERCENT:
        is_clear = len(ranked) == 1 or ranked[0][1] - ranked[1][1] >= MARGIN_PERCENT
        certainty = Certainty.PROBABLE if is_clear else Certainty.UNSURE
        return HeadingMatch(heading, ranked[0][0] if is_clear else None, certainty, unit, offered)
    return HeadingMatch(heading, None, Certainty.UNSURE, unit, offered)
