"""Spellings that a person may have meant, for messages about names that are not stored."""

import re
from collections.abc import Iterable

from kb.rules.word_list import format_word_list

LIKENESS_PERCENT = 60.0
# One word of a name that was written nearly right, as "belt" for drive_belt; looked for in short lists only.
LIKENESS_OF_WORD_PERCENT = 85.0
MOST_READ_BY_WORD = 1_000
_WORD_ENDS = re.compile(r"[\s_.-]+")
# Where nothing is near, so few names are all told: a shop has one or two places and a handful of jobs.
MOST_TOLD = 6


def find_nearest(text: str, names: Iterable[str], *, limit: int = 2) -> list[str]:
    """Names most like a text, best first; none when nothing is near.

    Example:
        >>> find_nearest("drive_bolt", ["drive_belt", "rollers", "clutch_bell"])
        ['drive_belt']
        >>> find_nearest("belt", ["bell_nut", "drive_belt", "rollers"])
        ['drive_belt', 'bell_nut']
    """
    from rapidfuzz import fuzz, process  # noqa: PLC0415 - needed only where something is wrong

    known, asked = list(names), text[:100].casefold()
    found = process.extract(
        asked, known, scorer=fuzz.ratio, processor=str.casefold, limit=limit, score_cutoff=LIKENESS_PERCENT
    )
    likeness = {name: score for name, score, _place in found}
    if len(known) <= MOST_READ_BY_WORD:
        for name in known:
            of_word = max(
                (fuzz.ratio(asked, word) for word in _WORD_ENDS.split(name.casefold())), default=0.0
            )
            if of_word >= LIKENESS_OF_WORD_PERCENT:
                likeness[name] = max(likeness.get(name, 0.0), of_word)
    return sorted(likeness, key=likeness.__getitem__, reverse=True)[:limit]


def format_nearest(text: str, names: Iterable[str]) -> str:
    """Half a sentence that offers the nearest names, or all where there are few, or says that none is near.

    Example:
        >>> format_nearest("finsh", ["finch", "plover"])
        "the nearest spelling is 'finch'"
        >>> format_nearest("cellar", ["counter", "branch"])
        "none is near it, known are 'counter' and 'branch'"
    """
    known = list(names)
    found = find_nearest(text, known)
    if not found and 0 < len(known) <= MOST_TOLD:
        verb = "are" if len(known) > 1 else "is"
        return f"none is near it, known {verb} " + format_word_list([f"'{name}'" for name in known])
    if not found:
        return "no stored name is near it"
    if len(found) == 1:
        return f"the nearest spelling is '{found[0]}'"
    return "the nearest spellings are " + format_word_list([f"'{name}'" for name in found])
