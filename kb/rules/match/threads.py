"""The thread of a nut or a screw that is asked for without its M: "nut 10x1.25".

Its diameter must not be met by another number of the row, such as the 10 of a strength class.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from kb.rules.match.numbers import convert_number_token
from kb.rules.match.tokens import Group, GroupKind
from kb.standards.threads import find_metric_thread

_WITH_THREAD = frozenset({"nut", "screw"})
BARE_DIAMETER_FACTOR = 0.99
"""How well a row answers that has the number, but not as a diameter and no other diameter."""


def type_thread(groups: Sequence[Group], article: str) -> list[Group]:
    """The groups, in which a diameter followed by its pitch is taken for a thread of the article.

    Example:
        >>> sizes = [Group(GroupKind.NUMBER, text, 1.6, ((f"n{text}".replace(".", "p"), 1.0),))
        ...          for text in ("10", "1.25")]
        >>> type_thread(sizes, "nut")[0].alternatives
        (('n10m', 1.0), ('n10', 0.99))
        >>> type_thread(sizes, "oil seal") == sizes
        True
    """
    typed = list(groups)
    if article not in _WITH_THREAD:
        return typed
    for at, (group, following) in enumerate(pairwise(groups)):
        diameter_mm, pitch_mm = _get_plain(group), _get_plain(following)
        if diameter_mm is None or pitch_mm is None:
            continue
        if find_metric_thread(diameter_mm, pitch_mm):
            plain = group.alternatives[0][0]
            alternatives = ((f"{plain}m", 1.0), (plain, BARE_DIAMETER_FACTOR))
            typed[at] = replace(group, alternatives=alternatives)
            break
    return typed


def _get_plain(group: Group) -> float | None:
    """The number of a group that gives no unit."""
    if group.kind is not GroupKind.NUMBER or len(group.alternatives) != 1:
        return None
    return convert_number_token(group.alternatives[0][0])
