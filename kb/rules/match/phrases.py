"""What an article is called: a table of phrases, each with the concept that it names.

Concepts are free codes (a part type, or anything that a shop adds). Rows and questions get their
concept from the same table, so "transmission belt" finds a row that says "CVT belt". The words of a
phrase may stand in any order, with other words between; the phrase that explains most words wins.

Rows of the table with an empty concept are descriptive words ("rear", "boxed"): known, but no article.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import log

from kb.rules.match.normal import fold_text

_FILLER_TEXT = """
    a again am an and any anything are as asap ask asked asking at available be but by can cheers could
    customer deg dia diameter do does find for fit fits fitting from get getting give go good got hai has
    have having he hello her hey hi his how i id if im in is it kindly know longer length look looking make
    mate me mm much my need needed needs nr no not number of od ok on one or our pls please quote search
    sell send she show sir size sized so some something stock stocked tell thank thanks that the their them
    then there these they this to urgent us want wanted wants was we whats what when where which who wide
    width will with would x yes you your thick thickness
"""
FILLERS = frozenset(_FILLER_TEXT.split())
"""Words that carry no meaning for a look-up: grammar, politeness and names of dimensions."""

LIGHT_WORDS = frozenset({"long"})
"""Words that may name a dimension or tell two articles apart (a long case): they count, but little."""

CONTEXT_WORDS = frozenset(
    {"for", "from", "off", "behind", "under", "fits", "fitting", "goes", "of", "with", "w", "without"}
)
"""Words after which the place stands and no longer the article: a seal for the rear pulley is a seal."""

ACCESSORY_WORDS = frozenset({"with", "w", "incl", "including", "without"})
"""Words of a row after which an addition stands and no longer the article: a carburettor with circlip."""

_MANY_NAMES = 5
_MIN_COVERAGE = 0.6
_MIN_COVERAGE_WITHOUT_HEAD = 0.85
"""A name's last word says what the article is ("case gasket"): without it nearly all else has to be there."""
_NO_HEADS = frozenset({"set", "kit", "assembly", "assy", "complete", "unit", "pair", "piece"})
_NEAR_TIE = 0.93
_CACHE_LIMIT = 20_000


@dataclass(frozen=True, slots=True)
class Concept:
    """A concept read from words, the share of its phrase that was met, and the words that met it."""

    code: str
    coverage: float
    words: frozenset[str]


def stem_word(word: str) -> str:
    """The singular, roughly: both sides lose the same ending.

    Example:
        >>> stem_word("springs"), stem_word("boss"), stem_word("gas")
        ('spring', 'boss', 'gas')
    """
    if len(word) > 3 and word[-1] == "s" and word[-2] not in "sui":
        return word[:-1]
    return word


def split_words(text: str) -> list[str]:
    """Words of a phrase, folded; a single letter before a hyphen stays with its word ("v-belt").

    Example:
        >>> split_words("V-belt pulley")
        ['vbelt', 'pulley']
    """
    words: list[str] = []
    for part in fold_text(text).replace("/", " ").split():
        pieces = ["".join(filter(str.isalnum, piece)) for piece in part.split("-")]
        if len(pieces) == 2 and len(pieces[0]) == 1:
            pieces = ["".join(pieces)]
        words.extend(piece for piece in pieces if piece)
    return words


class PhraseTable:
    """Phrases with their concepts, ready for detection.

    Args:
        rows: pairs of concept and phrase; an empty concept marks a descriptive word.
    """

    def __init__(self, rows: Iterable[tuple[str, str]]) -> None:
        self._phrases: list[tuple[str, frozenset[str]]] = []
        self._heads: list[str] = []
        self._name_counts: Counter[str] = Counter()
        self._by_word: dict[str, list[int]] = defaultdict(list)
        self._remember = lru_cache(_CACHE_LIMIT)(self._find)
        plain: set[str] = set()
        concepts_of: dict[str, set[str]] = defaultdict(set)
        words_of: dict[str, set[str]] = defaultdict(set)
        for code, phrase in rows:
            in_order = [stem_word(word) for word in split_words(phrase)]
            words = frozenset(in_order)
            if not code:
                plain |= words
                continue
            words_of[code] |= words
            self._name_counts[code] += 1
            for word in words:
                concepts_of[word].add(code)
                self._by_word[word].append(len(self._phrases))
            self._phrases.append((code, words))
            self._heads.append(next((word for word in reversed(in_order) if word not in _NO_HEADS), ""))
        self.single_names = frozenset(filter(self._is_single_name, self._by_word))
        self.trade_words = frozenset(concepts_of)
        self.plain_words = frozenset(plain) - self.trade_words
        self._words_of = {code: frozenset(words - plain) for code, words in words_of.items()}
        self.concept_count = len({code for code, _ in self._phrases})
        self._weight = {word: log(1 + self.concept_count / len(codes)) for word, codes in concepts_of.items()}
        self._total = [sum(self._weight[word] for word in words) for _, words in self._phrases]

    def _is_single_name(self, word: str) -> bool:
        """Whether a word is, alone, one name among many of its article, and is in no other name."""
        places = self._by_word[word]
        code, words = self._phrases[places[0]]
        return len(places) == 1 and len(words) == 1 and self._name_counts[code] > _MANY_NAMES

    def list_words_of(self, code: str) -> frozenset[str]:
        """Words of all names of a concept; without those that also describe, such as "rear"."""
        return self._words_of.get(code, frozenset())

    def list_differing_words(self, other: "PhraseTable") -> frozenset[str]:
        """Words of phrases that only one of two tables has."""
        differing = set(self._phrases).symmetric_difference(other._phrases)
        return frozenset[str]().union(*(words for _, words in differing))

    def find_concepts(self, words: Mapping[str, float]) -> tuple[Concept, ...]:
        """Concepts that the words name, the best first, with near ties.

        Args:
            words: trade words met, each with how certainly it was read (0..1).

        Returns:
            At most three concepts. Empty when no phrase is met by six tenths of its weight.
        """
        return self._remember(tuple(sorted(words.items())))

    def _find(self, words: tuple[tuple[str, float], ...]) -> tuple[Concept, ...]:
        met: dict[int, float] = defaultdict(float)
        for word, certainty in words:
            for index in self._by_word.get(word, ()):
                met[index] += self._weight[word] * certainty
        best: dict[str, tuple[float, float, int]] = {}
        present = [word for word, _ in words]
        for index, mass in met.items():
            coverage = mass / self._total[index]
            code = self._phrases[index][0]
            least = _MIN_COVERAGE if self._heads[index] in present else _MIN_COVERAGE_WITHOUT_HEAD
            if coverage < (least if " " not in code else 1.0):
                continue  # a name that stands for itself has no other names: all its words are needed
            best[code] = max(best.get(code, (0.0, 0.0, 0)), (mass * coverage, coverage, index))
        ranked = sorted(best.items(), key=lambda item: (-item[1][0], item[0]))
        return tuple(
            Concept(code, min(1.0, coverage), self._phrases[index][1].intersection(present))
            for code, (value, coverage, index) in ranked[:3]
            if value >= _NEAR_TIE * ranked[0][1][0]
        )
