"""Shortened, misspelt, misheard words: each corrected against the small vocabulary, never against the rows.

The trade words of the phrase table come first, then the words that stand in the rows. A word that is
known keeps its meaning; "break", known from some row, may still mean "brake", but counts less.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from rapidfuzz.distance import OSA
from rapidfuzz.process import extract_iter

from kb.rules.match.phrases import FILLERS, PhraseTable, stem_word

SCAN_LIMIT = 2_000
"""Words up to which every word of like length is compared; above it a table of deletions is made.

Source: measured: the scan takes 0.15 ms a word at 2,000 words; the table 0.03 ms, but half a second to build
at 5,000 words and over a second at 20,000.
"""
Alternatives = tuple[tuple[str, float], ...]

_MAX_ALTERNATIVES = 8
_CACHE_LIMIT = 50_000
_MAX_WORD = 24
_PLAIN_WORD_PENALTY = 0.9
_KNOWN_WORD_FACTOR = 0.7
_SHORT_WORD = 3
_SOUNDS = (
    ("tch", "ch"),
    ("ght", "t"),
    ("gh", ""),
    ("ph", "f"),
    ("ck", "k"),
    ("qu", "k"),
    ("sch", "sh"),
    ("kn", "n"),
)
_LETTERS = str.maketrans({"q": "k", "z": "s", "x": "ks", **dict.fromkeys("aeiouyhw")})


def sound_key(word: str) -> str:
    """Consonant skeleton of a word: words that sound alike share it.

    Source: judgement of this project; common slips of dictation.

    Example:
        >>> sound_key("kluch") == sound_key("clutch"), sound_key("sillinder") == sound_key("cylinder")
        (True, True)
        >>> sound_key("belt") == sound_key("bell")
        False
    """
    word = word[:_MAX_WORD]
    for spelled, heard in _SOUNDS:
        word = word.replace(spelled, heard)
    word = word.replace("sh", "\x01").replace("ch", "\x02")
    letters: list[str] = []
    for index, letter in enumerate(word):
        following = word[index + 1 : index + 2]
        if letter == "c":
            letter = "s" if following and following in "eiy" else "k"  # noqa: PLW2901 (same place, heard letter)
        heard_letters = letter.translate(_LETTERS)
        if heard_letters and letters[-1:] != [heard_letters]:
            letters.append(heard_letters)
    vowel_first = "a" if word[:1] in tuple("aeiou") else ""
    return vowel_first + "".join(letters)


def is_shortening(short: str, word: str) -> bool:
    """Whether ``short`` is a clipped form of ``word``: same first letter, letters in order.

    At least 3 letters and two sevenths of the word.

    Example:
        >>> is_shortening("gskt", "gasket"), is_shortening("brg", "bearing"), is_shortening("be", "belt")
        (True, True, False)
    """
    if not 3 <= len(short) < len(word) or short[0] != word[0] or 7 * len(short) < 2 * len(word):
        return False
    rest = iter(word)
    return all(letter in rest for letter in short)


def _is_slip(known: str, word: str) -> bool:
    """Whether a word that stands in rows may yet be meant as another: one edit, or the same sound."""
    return OSA.distance(known, word, score_cutoff=1) <= 1 or sound_key(known) == sound_key(word)


def _allowed_edits(word: str) -> int:
    """Edits that a word may be away: 1 up to five letters, 2 above."""
    return 1 if len(word) <= 5 else 2


def _list_deletions(word: str, edits: int) -> set[str]:
    found = {word}
    for _ in range(edits):
        found |= {shorter[:at] + shorter[at + 1 :] for shorter in found for at in range(len(shorter))}
    return found


class NearestWords:
    """The words of a vocabulary that are one or two edits away.

    Args:
        words: the vocabulary.
        scan_limit: number of words above which the table of deletions is built.
    """

    def __init__(self, words: Iterable[str], *, scan_limit: int = SCAN_LIMIT) -> None:
        known = [word[:_MAX_WORD] for word in words]
        self._by_length: dict[int, list[str]] = defaultdict(list)
        self._by_deletion: dict[str, list[str]] | None = None
        if len(known) <= scan_limit:
            for word in known:
                self._by_length[len(word)].append(word)
            return
        self._by_deletion = defaultdict(list)
        for word in known:
            for shorter in _list_deletions(word, _allowed_edits(word)):
                self._by_deletion[shorter].append(word)

    def _scan(self, word: str, edits: int) -> Iterator[tuple[str, int]]:
        """Words of like length within so many edits."""
        for length in range(len(word) - edits, len(word) + edits + 1):
            words = self._by_length.get(length)
            if words:
                for candidate, distance, _ in extract_iter(
                    word, words, scorer=OSA.distance, score_cutoff=edits
                ):
                    yield candidate, int(distance)

    def _look_up_deletions(self, word: str, edits: int) -> Iterator[tuple[str, int]]:
        """Words that become equal to the question's word by deleting letters on either side."""
        table = self._by_deletion or {}
        shorter_words = _list_deletions(word, edits)
        near = {candidate for shorter in shorter_words for candidate in table.get(shorter, ())}
        for candidate in near:
            distance = OSA.distance(word, candidate, score_cutoff=edits)
            if distance <= edits:
                yield candidate, distance

    def find(self, word: str) -> list[tuple[str, int]]:
        """Words near enough, each with its distance (optimal string alignment), nearest first."""
        edits = _allowed_edits(word)
        search = self._scan if self._by_deletion is None else self._look_up_deletions
        return sorted(search(word, edits), key=lambda item: (item[1], item[0]))[:_MAX_ALTERNATIVES]


class Spelling:
    """Readings of single words against the trade words and the words of the rows.

    Args:
        phrases: the phrase table.
        row_words: words of the rows with the number of rows they stand in.
    """

    def __init__(self, phrases: PhraseTable, row_words: Mapping[str, int] | None = None) -> None:
        self.trade_words = phrases.trade_words
        self.known_words = phrases.plain_words
        self.row_words: Mapping[str, int] = row_words or {}
        by_first: dict[str, list[str]] = defaultdict(list)
        self._by_sound: dict[str, list[str]] = defaultdict(list)
        # A word that is one name of many by itself (often a foreign one) is not guessed from its consonants.
        for word in sorted(self.trade_words - phrases.single_names):
            by_first[word[0]].append(word)
            self._by_sound[sound_key(word)].append(word)
        self._by_first = by_first
        self._near_trade = NearestWords(self.trade_words)
        others = self.known_words.union(self.row_words) - self.trade_words
        self._near_other = NearestWords(word for word in others if len(word) >= 4)
        self._remember_row_word = lru_cache(_CACHE_LIMIT)(self._read_row_word)
        self._remember_question_word = lru_cache(_CACHE_LIMIT)(self._read_question_word)

    def is_known(self, word: str) -> bool:
        """Whether the word (in its singular) needs no correction."""
        return word in self.trade_words or word in self.known_words or word in self.row_words

    def read_row_word(self, word: str) -> Alternatives:
        """Readings of a word in a row: itself, or the trade words that it shortens; () for a filler.

        Only the phrase table is asked, so a row's keys do not depend on what other rows say.
        """
        return self._remember_row_word(word)

    def _read_row_word(self, word: str) -> Alternatives:
        if word in FILLERS or len(word) < 2:
            return ()
        stem = stem_word(word)
        if stem in self.trade_words or stem in self.known_words:
            return ((stem, 1.0),)
        return (*self._list_full_words(stem), (stem, 1.0))

    def _list_full_words(self, short: str) -> Alternatives:
        """Trade words that ``short`` may be clipped from, the likeliest first."""
        if len(short) > 6:
            return ()
        found = []
        for word in self._by_first.get(short[0], ()):
            if not is_shortening(short, word):
                continue
            by_sound = sound_key(short) == sound_key(word)
            found.append((word, 0.92 if word.startswith(short) or by_sound else 0.85))
        found.sort(key=lambda item: (-item[1], len(item[0]), item[0]))
        return tuple(found[:_MAX_ALTERNATIVES])

    def read_question_word(self, word: str) -> Alternatives:
        """Readings of a question's word, each with its certainty; () for a filler or nothing near."""
        return self._remember_question_word(word[:_MAX_WORD])

    def _read_question_word(self, word: str) -> Alternatives:
        if word in FILLERS or len(word) < 2:
            return ()
        stem = stem_word(word)
        if stem in self.trade_words or stem in self.known_words:
            return ((stem, 1.0),)
        readings: dict[str, float] = {}
        factor = 1.0
        if stem in self.row_words:
            readings[stem] = 1.0
            factor = _KNOWN_WORD_FACTOR
        # Of three letters, one edit makes many another word: a known one may be clipped, but is not misspelt.
        is_settled = factor < 1.0 and len(stem) <= _SHORT_WORD
        for candidate, certainty in (
            self._list_full_words(stem) if is_settled else self._list_corrections(stem)
        ):
            is_clipped = self._is_clipped(stem, candidate)
            if factor < 1.0 and not is_clipped and not _is_slip(stem, candidate):
                continue
            scaled = certainty if is_clipped else certainty * factor
            readings[candidate] = max(readings.get(candidate, 0.0), scaled)
        ranked = sorted(readings.items(), key=lambda item: (-item[1], item[0]))
        return tuple(ranked[:_MAX_ALTERNATIVES])

    @staticmethod
    def _is_clipped(stem: str, candidate: str) -> bool:
        return is_shortening(stem, candidate) and len(stem) <= 6 and len(candidate) - len(stem) > 1

    def _list_corrections(self, stem: str) -> Iterator[tuple[str, float]]:
        yield from self._list_full_words(stem)
        if len(stem) < 3:
            return
        for candidate, distance in self._near_trade.find(stem):
            same_start = candidate[0] == stem[0]
            yield candidate, (0.95, 0.92, 0.8)[distance] - (0.0 if same_start else 0.05)
        if len(stem) >= 4:
            for candidate in self._by_sound.get(sound_key(stem), ()):
                if abs(len(candidate) - len(stem)) <= 4:
                    yield candidate, 0.85
            for candidate, distance in self._near_other.find(stem):
                yield candidate, (1.0, 0.88, 0.75)[distance] * _PLAIN_WORD_PENALTY

    def find_joined(self, word: str) -> Alternatives:
        """Trade words that neighbours written together make ("roll ers"), also when misheard."""
        stem = stem_word(word)
        if stem in self.trade_words:
            return ((stem, 0.97),)
        if len(stem) < 6:
            return ()
        near = [(candidate, 0.9) for candidate, distance in self._near_trade.find(stem) if distance == 1]
        heard = [(candidate, 0.85) for candidate in self._by_sound.get(sound_key(stem), ())]
        return tuple(near + heard)[:_MAX_ALTERNATIVES]

    def find_split(self, word: str) -> tuple[str, str] | None:
        """The two trade words that were written as one ("drivebelt"), or None."""
        if not 6 <= len(word) <= _MAX_WORD or word in self.trade_words:
            return None
        for at in range(3, len(word) - 2):
            first, second = word[:at], stem_word(word[at:])
            if first in self.trade_words and second in self.trade_words:
                return first, second
        return None
