"""A question as weighted groups of index tokens.

Weights (judgement of this project, set on generated questions): an engine's code tells most, then what
the article is, its maker, each of its numbers, and last the other words.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from kb.rules.match.makers import MakerNames
from kb.rules.match.normal import QUESTION_LIMIT, encode_token, normalise, squeeze
from kb.rules.match.numbers import format_number, list_question_alternatives
from kb.rules.match.part_number import (
    MAX_KEY,
    MIN_DIGITS,
    count_digits,
    format_key,
    format_look_alike,
    is_number_question,
)
from kb.rules.match.phrases import CONTEXT_WORDS, FILLERS, LIGHT_WORDS, Concept, PhraseTable, stem_word
from kb.rules.match.pieces import Piece, list_pieces
from kb.rules.match.rows import format_concept_token, format_maker_token, format_named_token
from kb.rules.match.spelling import Alternatives, Spelling
from kb.rules.match.spoken import NUMBER_WORDS, read_spoken
from kb.rules.match.threads import type_thread
from kb.rules.match.tokens import Group, GroupKind, LateReadings, Question, Reading, Vocabulary

WEIGHTS = {
    GroupKind.CODE: 3.4,
    GroupKind.CONCEPT: 3.0,
    GroupKind.MAKER: 2.0,
    GroupKind.NUMBER: 1.6,
    GroupKind.WORD: 0.8,
    GroupKind.CONCEPT_WORD: 0.25,
    GroupKind.UNKNOWN_WORD: 0.4,
}
_MAX_GROUPS = 24
_MAX_PIECES = 48
_MAX_CORRECTED = 8
_MAX_JOINED = 12
_MAX_KEYS_INSIDE = 40
_MIN_KEY_INSIDE = 7
_MAX_MAKER_WORDS = 4
_MIN_SHORT_KEY = 2  # a whole question as short as this may be a part number if it is met letter by letter
_NEXT_CONCEPT_FACTOR = 0.95
_NAMED_ONLY_FACTOR = 0.5
_SEEN_WRONG_CODE_FACTOR = 0.9
_NOT_JOINED_FACTOR = 0.97
_MOST_PIECES = 10
_FULL_COVERAGE = 0.99
_MAX_CODE = 24
_DIMENSIONS = frozenset({"wire", "bore", "height", "pitch", "inner", "outer", "inside", "outside", "coil"})
_BARE_NUMBER = re.compile(r"[A-WYZa-wyz]{2,3}[-./]?[0-9][0-9A-Za-z./-]*", re.ASCII)
"""Two or three letters, then figures: one word, and with no x between its sizes."""
_SCANNER_PREFIX = re.compile(r"^\s*\][A-Za-z][0-9A-Za-z]")
"""Mark of the kind of bar code that a scanner may send first. Source: ISO/IEC 15424, as in the notations."""


@dataclass(slots=True)
class _Words:
    """Words of a reading by place, with their alternatives, while a question is taken apart."""

    alternatives: dict[int, Alternatives] = field(default_factory=dict)
    joined: dict[int, tuple[Alternatives, int]] = field(default_factory=dict)
    used: set[int] = field(default_factory=set)
    split: set[int] = field(default_factory=set)
    corrected: int = 0
    joins: int = 0


class QuestionReader:
    """Takes questions apart with one vocabulary. Make a new one when the vocabulary changes.

    Args:
        phrases: the phrase table.
        spelling: readings of single words.
        vocabulary: words, codes and makers of the stored rows.
    """

    def __init__(self, phrases: PhraseTable, spelling: Spelling, vocabulary: Vocabulary) -> None:
        self._phrases = phrases
        self._spelling = spelling
        self._codes = vocabulary.codes
        self._starts_of_codes = frozenset(code[:end] for code in self._codes for end in range(1, len(code)))
        self._codes_by_look: dict[str, list[str]] = {}
        for code in sorted(vocabulary.codes):
            self._codes_by_look.setdefault(format_look_alike(code.upper()), []).append(code)
        self._makers = MakerNames(vocabulary.makers)

    def read(self, text: str) -> Question:
        """The question in groups, for each reading of its numbers; never an error, whatever the text.

        Args:
            text: what was typed or said; cut at 200 characters.
        """
        text = _SCANNER_PREFIX.sub("", text[:QUESTION_LIMIT])
        key = format_key(self._drop_maker(text))
        if is_number_question(key):
            if _BARE_NUMBER.fullmatch(text.strip()):
                return Question(
                    text, key, (), LateReadings(lambda: self._read_wording(text)), is_bare_number=True
                )
            return Question(text, key, _list_keys_inside(text), self._read_wording(text))
        short = (key,) if _MIN_SHORT_KEY <= len(key) <= MAX_KEY and _has_digit(key) else ()
        return Question(text, "", (*short, *_list_keys_inside(text)), self._read_wording(text))

    def _read_wording(self, text: str) -> tuple[Reading, ...]:
        readings: list[Reading] = []
        for said, factor in _say(normalise(text)):
            readings += self._read_pieces(list_pieces(said)[:_MAX_PIECES], factor)
        return tuple(readings)

    def _drop_maker(self, text: str) -> str:
        """The text without a maker's name, of one word or more, before a part number ("Tollwyne 7929.9")."""
        words = text.split()
        for count in range(min(_MAX_MAKER_WORDS, len(words) - 1), 0, -1):
            if self._makers.find_exact(squeeze("".join(words[:count]))):
                return " ".join(words[count:])
        return text

    def _read_pieces(self, pieces: list[Piece], factor: float) -> Iterable[Reading]:
        """The pieces in groups; where a word and a number make a code ("plover 50"), without it as well."""
        groups, has_joined = self._list_groups(pieces, with_joined=True)
        yield Reading(tuple(groups), factor)
        if has_joined and any(group.kind is GroupKind.CONCEPT for group in groups):
            yield Reading(tuple(self._list_groups(pieces, with_joined=False)[0]), factor * _NOT_JOINED_FACTOR)

    def _list_groups(self, pieces: list[Piece], *, with_joined: bool) -> tuple[list[Group], bool]:
        """Groups, and whether a code was made of several pieces."""
        words = _Words()
        groups = list(self._read_joined_codes(pieces, words.used)) if with_joined else []
        has_joined = bool(groups)
        groups += self._read_codes(pieces, words.used)
        groups += _read_numbers(_drop_count(pieces), words.used)
        groups += self._read_makers(pieces, words)
        self._read_words(pieces, words)
        concepts = self._find_concepts(pieces, words)
        if concepts:
            groups = [*type_thread(groups, concepts[0].code), _make_concept_group(concepts)]
        groups += self._read_other_words(pieces, words, concepts)
        return groups[:_MAX_GROUPS], has_joined

    def _find_concepts(self, pieces: Sequence[Piece], words: _Words) -> tuple[Concept, ...]:
        """What the words name; before what they name as a whole, what stands before a "for" by itself."""
        whole = self._phrases.find_concepts(self._collect_trade_words(words))
        if not whole:
            return whole
        end = next((at for at, piece in enumerate(pieces) if piece.text in CONTEXT_WORDS), 0)
        head = self._phrases.find_concepts(self._collect_trade_words(words, end)) if end else ()
        if not head or head[0].coverage < _FULL_COVERAGE or head[0].code == whole[0].code:
            return whole
        return (*head, *(concept for concept in whole if concept.code not in {one.code for one in head}))

    def _read_joined_codes(self, pieces: Sequence[Piece], used: set[int]) -> Iterable[Group]:
        for at, piece in enumerate(pieces):
            if piece.text not in self._starts_of_codes:
                continue
            for end in range(min(len(pieces), at + 4), at + 1, -1):
                joined = _join_pieces(pieces[at:end], self._codes)
                if joined in self._codes and not used.intersection(range(at, end)) and _has_digit(joined):
                    used.update(range(at, end))
                    yield self._make_code_group(joined)

    def _read_codes(self, pieces: Sequence[Piece], used: set[int]) -> Iterable[Group]:
        for at, piece in enumerate(pieces):
            if piece.kind == "code" and at not in used:
                used.add(at)
                yield self._make_code_group(piece.text[:_MAX_CODE])

    def _make_code_group(self, code: str) -> Group:
        alternatives = [(encode_token("c", code), 1.0)]
        if code not in self._codes:
            for known in self._codes_by_look.get(format_look_alike(code.upper()), ())[:3]:
                alternatives.append((encode_token("c", known), _SEEN_WRONG_CODE_FACTOR))
        return Group(GroupKind.CODE, code.upper(), WEIGHTS[GroupKind.CODE], tuple(alternatives))

    def _read_makers(self, pieces: Sequence[Piece], words: _Words) -> Iterable[Group]:
        found: dict[str, tuple[str, float]] = {}
        for at, first in enumerate(pieces):
            if first.kind != "word" or not self._makers.is_start(first.text):
                continue
            for end in range(min(len(pieces), at + 3), at, -1):
                window = pieces[at:end]
                if words.used.intersection(range(at, end)) or any(piece.kind != "word" for piece in window):
                    continue
                names = self._makers.find_exact("".join(piece.text for piece in window))
                if names and (end - at > 1 or not self._is_trade(first.text)):
                    words.used.update(range(at, end))
                    found.update((name, (first.text, 1.0)) for name in names)
                    break
        for at, piece in enumerate(pieces):
            if piece.kind == "word" and at not in words.used:
                self._guess_maker(at, piece.text, words, found)
        return [_make_maker_group(found)] if found else []

    def _is_trade(self, word: str) -> bool:
        return stem_word(word) in self._phrases.trade_words or word in FILLERS

    def _is_known(self, word: str) -> bool:
        return self._spelling.is_known(stem_word(word))

    def _guess_maker(self, at: int, word: str, words: _Words, found: dict[str, tuple[str, float]]) -> None:
        """Take an unknown word for a misspelt maker when no trade word is as near."""
        if len(word) < 4 or self._is_known(word) or words.corrected >= _MAX_CORRECTED:
            return
        names = self._makers.find_near(word)
        if not names:
            return
        words.corrected += 1
        readings = self._spelling.read_question_word(word)
        if readings and readings[0][1] >= names[0][1]:
            return
        words.used.add(at)
        for name, certainty in names:
            found.setdefault(name, (word, certainty))

    def _read_words(self, pieces: Sequence[Piece], words: _Words) -> None:
        spelling = self._spelling
        for at, piece in enumerate(pieces):
            if piece.kind != "word" or at in words.used:
                continue
            known = self._is_known(piece.text) or piece.text in FILLERS
            if not known and words.corrected >= _MAX_CORRECTED:
                words.alternatives[at] = ()
                continue
            words.corrected += not known
            words.alternatives[at] = spelling.read_question_word(piece.text)
            if not known:
                pair = spelling.find_split(piece.text)
                if pair:
                    words.split.add(at)
                    words.alternatives[at] = ((pair[0], 0.97), (pair[1], 0.97))
            self._join_neighbours(pieces, at, words, known=known)

    def _join_neighbours(self, pieces: Sequence[Piece], at: int, words: _Words, *, known: bool) -> None:
        joined = pieces[at].text
        for end in range(at + 1, min(at + 3, len(pieces))):
            if pieces[end].kind != "word" or end in words.used:
                return
            joined += pieces[end].text
            is_word = stem_word(joined) in self._phrases.trade_words
            if not is_word and (words.joins >= _MAX_JOINED or (known and self._is_known(pieces[end].text))):
                continue
            words.joins += not is_word
            alternatives = self._spelling.find_joined(joined)
            if alternatives:
                words.joined[at] = (alternatives, end)
                return

    def _collect_trade_words(self, words: _Words, end: int = _MAX_PIECES) -> dict[str, float]:
        """Trade words among the pieces before ``end``, each with how certainly it was read."""
        trade_words = self._phrases.trade_words
        met: dict[str, float] = {}
        read = [alternatives for at, alternatives in words.alternatives.items() if at < end]
        read += [alternatives for at, (alternatives, _) in words.joined.items() if at < end]
        for alternatives in read:
            for word, certainty in alternatives:
                if word in trade_words and certainty > met.get(word, 0.0):
                    met[word] = certainty
        return met

    def _read_other_words(
        self, pieces: Sequence[Piece], words: _Words, concepts: tuple[Concept, ...]
    ) -> Iterable[Group]:
        explained = frozenset[str]().union(*(concept.words for concept in concepts))
        for at, (joined, end) in words.joined.items():
            own = words.alternatives.get(at, ())
            if any(word in explained for word, _ in joined) and not any(word in explained for word, _ in own):
                for place in range(at, end + 1):
                    words.alternatives.pop(place, None)
        named = self._phrases.list_words_of(concepts[0].code) if concepts else frozenset[str]()
        for at, alternatives in words.alternatives.items():
            text = pieces[at].text
            if text in FILLERS or len(text) < 2 or _names_dimension(pieces, at):
                continue
            if at in words.split and not any(word in explained for word, _ in alternatives):
                alternatives = ()  # noqa: PLW2901 - half of a word that was written as one says nothing
            yield self._make_word_group(text, alternatives, explained=explained, named=named)

    def _make_word_group(
        self, text: str, alternatives: Alternatives, *, explained: frozenset[str], named: frozenset[str]
    ) -> Group:
        if not alternatives:
            return Group(GroupKind.UNKNOWN_WORD, text, WEIGHTS[GroupKind.UNKNOWN_WORD], ())
        in_concept = tuple(pair for pair in alternatives if pair[0] in explained)
        alternatives = in_concept or alternatives
        is_light = in_concept or alternatives[0][0] in named or text in LIGHT_WORDS
        kind = GroupKind.CONCEPT_WORD if is_light else GroupKind.WORD
        stored = self._spelling.row_words
        tokens = tuple(
            (encode_token("w", word), certainty)
            for word, certainty in alternatives
            if word in stored or word in self._phrases.trade_words
        )
        return Group(kind, text, WEIGHTS[kind], tokens)


def _join_pieces(pieces: Sequence[Piece], codes: frozenset[str]) -> str:
    """Pieces written together; with the letters that were read as a unit ("50t") where that is a code."""
    whole = "".join(piece.text + (piece.unit or "") for piece in pieces)
    return whole if whole in codes else "".join(piece.text for piece in pieces)


def _drop_count(pieces: Sequence[Piece]) -> Sequence[Piece]:
    """The pieces, with a number of pieces at the start ("two ramp plates") marked as one."""
    at = next((at for at, piece in enumerate(pieces) if piece.text not in FILLERS), len(pieces))
    if at + 1 >= len(pieces) or pieces[at].kind != "number" or pieces[at + 1].kind != "word":
        return pieces
    first = pieces[at]
    if first.unit or not first.text.isdigit() or not 1 < int(first.text[:3]) <= _MOST_PIECES:
        return pieces
    return (*pieces[:at], first._replace(unit="pc"), *pieces[at + 1 :])


def _names_dimension(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a word names the size behind it ("wire 4.5"); the size is looked for, not the word."""
    following = pieces[at + 1] if at + 1 < len(pieces) else None
    return pieces[at].text in _DIMENSIONS and following is not None and following.kind == "number"


def _has_digit(text: str) -> bool:
    return any(map(str.isdigit, text))


def _say(normal: str) -> Iterable[tuple[str, float]]:
    """The normalised question, once for each reading of the numbers said in words."""
    words = normal.replace("-", " ").split()
    if NUMBER_WORDS.isdisjoint(words):
        return ((normal, 1.0),)
    return ((" ".join(reading), factor) for reading, factor in read_spoken(words))


def _list_keys_inside(text: str) -> tuple[str, ...]:
    """Keys of up to four neighbouring words that may be a part number within a longer question."""
    parts = [format_key(part) for part in text.split()[:24]]
    digits = list(map(count_digits, parts))
    keys: dict[str, None] = {}
    for at in range(len(parts)):
        key, count = "", 0
        for end in range(at, min(at + 4, len(parts))):
            key += parts[end]
            count += digits[end]
            if len(key) > MAX_KEY or end + 1 - at == len(parts):
                break
            if len(key) >= _MIN_KEY_INSIDE and count >= MIN_DIGITS:
                keys[key] = None
    return tuple(keys)[:_MAX_KEYS_INSIDE]


def _read_numbers(pieces: Sequence[Piece], used: set[int]) -> Iterable[Group]:
    seen: dict[str, int] = {}
    for at, piece in enumerate(pieces):
        if piece.kind != "number" or at in used:
            continue
        plain = format_number(piece.text)
        occurrence = seen[plain] = seen.get(plain, 0) + 1
        alternatives = list_question_alternatives(piece.as_number(), occurrence)
        shown = plain if piece.unit in (None, "mm", "m", "af") else f"{plain} {piece.unit}"
        # How many are wanted is no size: a row with another number of pieces is what was asked for.
        kind = GroupKind.CONCEPT_WORD if piece.unit == "pc" else GroupKind.NUMBER
        yield Group(kind, shown, WEIGHTS[kind], alternatives)


def _make_concept_group(concepts: tuple[Concept, ...]) -> Group:
    alternatives = [
        (format_concept_token(concept.code), 1.0 if index == 0 else _NEXT_CONCEPT_FACTOR)
        for index, concept in enumerate(concepts)
    ]
    alternatives += [(format_named_token(concept.code), _NAMED_ONLY_FACTOR) for concept in concepts]
    best = concepts[0]
    weight = WEIGHTS[GroupKind.CONCEPT] * best.coverage
    return Group(GroupKind.CONCEPT, best.code.replace("_", " "), weight, tuple(alternatives))


def _make_maker_group(found: dict[str, tuple[str, float]]) -> Group:
    alternatives = tuple((format_maker_token(name), certainty) for name, (_, certainty) in found.items())
    text = ", ".join(dict.fromkeys(name.title() for name in found))
    return Group(GroupKind.MAKER, text, WEIGHTS[GroupKind.MAKER], alternatives)
