"""Words that say where a part sits, or which way its thread runs: two opposite ones are two parts.

A nut of the crankshaft and one of the clutch may share their thread, and are yet not sold as one. A thread
that says nothing runs to the right (ISO 965-1 writes LH for the other), so a row of a left-hand thread is not
what a plain question describes.
"""

from collections.abc import Collection, Iterable

from kb.rules.match.tokens import Group, GroupKind
from kb.terms import PartType

_LEFT_HAND = "lh"
_OPPOSITES: tuple[tuple[frozenset[str], frozenset[str]], ...] = tuple(
    (frozenset(one.split()), frozenset(other.split()))
    for one, other in (
        (
            "variator crank crankshaft front vorne delantero anteriore avant",
            "bell clutch rear driven kupplung hinten trasero embrague posteriore frizione arriere",
        ),
        ("left links izquierdo sinistro gauche", "right rechts derecho destro droite"),
        ("inlet intake", "exhaust outlet"),
        ("upper top", "lower bottom"),
        ("inner inside", "outer outside"),
    )
)
"""Source: common practice, no source."""
PLACE_WORDS = frozenset[str]().union(*(words for pair in _OPPOSITES for words in pair))
_OF_MANY_PLACES = frozenset(
    {
        PartType.NUT,
        PartType.WASHER,
        PartType.BEARING,
        PartType.OIL_SEAL,
        PartType.O_RING,
        PartType.GASKET,
        PartType.DOWEL,
        PartType.OTHER,
    }
)
_WITH_ONE_PLACE = frozenset(str(kind).replace("_", " ") for kind in PartType if kind not in _OF_MANY_PLACES)
_WORD_KINDS = (GroupKind.WORD, GroupKind.CONCEPT_WORD, GroupKind.UNKNOWN_WORD)


def find_other_place(asked: Collection[str], said: Collection[str]) -> str | None:
    """The word by which a row names the opposite of the place asked for; None where it names that place too.

    Args:
        asked: words of the question.
        said: words of the row.

    Example:
        >>> find_other_place({"variator", "nut"}, {"bell", "nut"}), find_other_place({"nut"}, {"bell", "nut"})
        ('bell', None)
        >>> find_other_place({"front"}, {"front", "rear"})
    """
    for pair in _OPPOSITES:
        for here, there in (pair, pair[::-1]):
            is_asked_here = not here.isdisjoint(asked) and there.isdisjoint(asked)
            if is_asked_here and here.isdisjoint(said) and not there.isdisjoint(said):
                return min(there.intersection(said))
    return None


def list_contradictions(groups: Iterable[Group], tokens: Collection[str]) -> tuple[str, ...]:
    """What a row says against the question: another place, a left-hand thread that was not asked for.

    Args:
        groups: all groups of the question.
        tokens: index tokens of the row.

    Example:
        >>> nut = Group(GroupKind.CONCEPT, "nut", 3.0, (("knut", 1.0),))
        >>> list_contradictions([nut], {"knut", "wlh"})
        ('left-hand thread',)
    """
    asked: set[str] = set()
    has_one_place = False
    for group in groups:
        if group.kind in _WORD_KINDS:
            asked.add(group.text)
            asked.update(token[1:] for token, _ in group.alternatives)
        elif group.kind is GroupKind.CONCEPT:
            has_one_place = group.text in _WITH_ONE_PLACE
    said = {token[1:] for token in tokens if token[0] == "w"}
    place = None if has_one_place or PLACE_WORDS.isdisjoint(asked) else find_other_place(asked, said)
    hand = ("left-hand thread",) if _LEFT_HAND in said and _LEFT_HAND not in asked else ()
    return (f"place '{place}'", *hand) if place else hand
