"""The analyser of this trade: the program's trade words, the catalogue's, the shop's.

The part types ``other`` and ``consumable`` say little: a brake cable is no spark plug. There the words
decide, and each name that no article of the program has stands for itself.
"""

from functools import lru_cache
from hashlib import blake2b

from kb.rules.match.analyser import Analyser
from kb.rules.match.phrases import PhraseTable, split_words, stem_word
from kb.standards.bearings import list_bearing_dimensions
from kb.standards.other_trade_words import list_other_trade_words
from kb.standards.package_csv import read_package_bytes
from kb.standards.trade_words import list_trade_words
from kb.terms import PartType

CATCH_ALL = frozenset({PartType.OTHER, PartType.CONSUMABLE})
"""Part types that hold many kinds of articles."""

READING = 2
"""Raised whenever the code reads tokens or keys out of a row in another way than the release before it."""

_TABLES = ("trade_words.csv", "other_trade_words.csv", "bearing_dimensions.csv")

Names = tuple[tuple[str, str], ...]


def list_known_concepts(part_type: str) -> tuple[str, ...]:
    """Concepts that a part has by its part type alone.

    Example:
        >>> list_known_concepts("drive_belt"), list_known_concepts("other")
        (('drive_belt',), ())
    """
    return () if part_type in CATCH_ALL else (part_type,)


@lru_cache
def list_ruled_out_concepts(part_type: str) -> frozenset[str]:
    """Part types that a part is not, whatever its description seems to name: a cloth roll is no roller.

    Empty for ``other``, which says nothing of what the part is not.

    Example:
        >>> "roller_set" in list_ruled_out_concepts("consumable"), list_ruled_out_concepts("other")
        (True, frozenset())
    """
    if part_type == PartType.OTHER:
        return frozenset()
    return frozenset(map(str, PartType)) - {part_type}


def _stem(name: str) -> frozenset[str]:
    return frozenset(map(stem_word, split_words(name)))


def _list_phrases(names: Names) -> list[tuple[str, str]]:
    others = list_other_trade_words()
    known = {_stem(name) for article, name in others if article}
    phrases = [(part_type, name) for part_type, name in list_trade_words() if part_type not in CATCH_ALL]
    phrases += others
    for part_type, name in names:
        if part_type not in CATCH_ALL:
            phrases.append((part_type, name))
        elif _stem(name) not in known:
            phrases.append((f"{part_type} {' '.join(sorted(_stem(name)))}", name))
    return list(dict.fromkeys(phrases))


@lru_cache(maxsize=1)
def _list_bearing_sizes() -> tuple[tuple[str, tuple[float, float, float]], ...]:
    return tuple(
        (row.trade_code, (row.bore_mm, row.od_mm, row.width_mm)) for row in list_bearing_dimensions()
    )


@lru_cache(maxsize=8)
def build_trade_analyser(names: Names = ()) -> Analyser:
    """Analyser with the program's trade words and further ones.

    Args:
        names: pairs of part type and name, as the catalogue and the shop give them.

    Example:
        >>> build_trade_analyser().analyse_question("petrol pipe").readings[0].groups[0].text
        'fuel hose'
    """
    return Analyser(PhraseTable(_list_phrases(names)), bearing_sizes=dict(_list_bearing_sizes()))


def build_words_fingerprint() -> str:
    """Tells whether an index was written with the program's words of now, and read in the way of now.

    Only the files are read, not their rows: less than a millisecond.
    """
    digest = blake2b(f"{READING}".encode(), digest_size=16)
    for name in _TABLES:
        digest.update(read_package_bytes(name))
    return digest.hexdigest()
