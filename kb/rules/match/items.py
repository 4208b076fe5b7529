"""Two articles asked for in one breath: "belt 743 20 30 and rollers 16x13 7 g" is two questions.

A text is cut only where each part names an article of its own with a size or a code; "belt 743 and 20 wide"
and "guide pin + roller set" stay whole.
"""

import re

from kb.rules.match.analyser import Analyser
from kb.rules.match.normal import QUESTION_LIMIT
from kb.rules.match.tokens import GroupKind

MAX_ITEMS = 4
_CUT = re.compile(r"\s(?:and|plus|also)\s|[;\n+&]|,\s", re.IGNORECASE)
_SIZES = frozenset({GroupKind.NUMBER, GroupKind.CODE})
_BEARING = "bearing"


def split_items(analyser: Analyser, text: str) -> tuple[str, ...]:
    """The text in parts that each name an article with a size or a code; the whole text when they don't.

    Example:
        >>> analyser = Analyser([("belt", "belt"), ("roller", "rollers")])
        >>> split_items(analyser, "belt 743 20 30 and rollers 16x13 7 g")
        ('belt 743 20 30', 'rollers 16x13 7 g')
        >>> split_items(analyser, "belt 743 and 20 wide")
        ('belt 743 and 20 wide',)
    """
    text = text[:QUESTION_LIMIT]
    cuts = [match.span() for match in _CUT.finditer(text)]
    if not cuts:
        return (text,)
    items: list[tuple[str, int, int]] = []  # article, start, end
    starts = [0, *(end for _, end in cuts)]
    ends = [*(start for start, _ in cuts), len(text)]
    for start, end in zip(starts, ends, strict=True):
        article = _find_article(analyser, text[start:end])
        if items and (not article or article == items[-1][0]):
            items[-1] = (items[-1][0], items[-1][1], end)
        else:
            items.append((article, start, end))
    if len(items) > 1 and not items[0][0]:  # what comes before the first article belongs to it
        items[:2] = [(items[1][0], items[0][1], items[1][2])]
    parts = tuple(text[start:end].strip() for _, start, end in items)
    return parts[:MAX_ITEMS] if len(parts) > 1 else (text,)


def _find_article(analyser: Analyser, text: str) -> str:
    """The article that a part names together with a size or a code; empty when it does not."""
    groups = analyser.analyse_question(text).readings[0].groups
    if not any(group.kind in _SIZES for group in groups):
        return ""
    for group in groups:
        if group.kind is GroupKind.CONCEPT:
            return group.text
    is_bearing = any(
        group.text in analyser.bearing_sizes for group in groups if group.kind is GroupKind.NUMBER
    )
    return _BEARING if is_bearing else ""
