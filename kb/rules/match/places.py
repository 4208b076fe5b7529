"""Words that say where a part sits, or which way its thread runs: two opposite ones are two parts.

A nut of the crankshaft and one of the clutch may share their thread, and are yet not sold as one. A thread
that says nothing runs to the right (ISO 965-1 writes LH for the other, from memory), so a row of a left-hand
thread is not what a plain question describes.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from kb.rules.match.tokens import Group, GroupKind
from kb.terms import PartType

_LEFT_HAND = "lh"
_OF_LEFT_HAND = "wlh"
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


@dataclass(frozen=True, slots=True)
class AskedPlace:
    """What a question says of the place and the hand of a thread.

    Attributes:
        words: its words for a place; none where the article has one place only.
        is_left_hand: whether it asks for a left-hand thread.
    """

    words: frozenset[str]
    is_left_hand: bool

    def list_contradictions(self, tokens: Collection[str]) -> tuple[str, ...]:
        """What a row says against it: another place, a left-hand thread that was not asked for.

        Args:
            tokens: index tokens of the row.

        Example:
            >>> AskedPlace(frozenset({"variator"}), False).list_contradictions({"knut", "wbell", "wlh"})
            ("place 'bell'", 'left-hand thread')
        """
        hand = ("left-hand thread",) if _OF_LEFT_HAND in tokens and not self.is_left_hand else ()
        if not self.words:
            return hand
        place = find_other_place(self.words, {token[1:] for token in tokens if token[0] == "w"})
        return (f"place '{place}'", *hand) if place else hand


def read_asked_place(groups: Iterable[Group]) -> AskedPlace:
    """What a question's groups say of the place.

    Example:
        >>> nut = Group(GroupKind.CONCEPT, "nut", 3.0, (("knut", 1.0),))
        >>> word = Group(GroupKind.CONCEPT_WORD, "bell", 0.25, (("wbell", 1.0),))
        >>> read_asked_place([nut, word]).words
        frozenset({'bell'})
    """
    words: set[str] = set()
    has_one_place = False
    for group in groups:
        if group.kind in _WORD_KINDS:
            words.add(group.text)
            words.update(token[1:] for token, _ in group.alternatives)
        elif group.kind is GroupKind.CONCEPT:
            has_one_place = group.text in _WITH_ONE_PLACE
    places = frozenset[str]() if has_one_place else PLACE_WORDS.intersection(words)
    return AskedPlace(places, _LEFT_HAND in words)
