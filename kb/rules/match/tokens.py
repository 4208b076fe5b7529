"""The shapes that pass between reading, fetching and scoring.

An index token is plain a-z and 0-9. Its first letter tells its kind: ``k`` concept, ``p`` concept that
the words name but the part type rules out, ``c`` code, ``m`` maker, ``n`` number, ``w`` word. So any
full-text index takes it without quoting.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import overload

NAMED_ONLY = "p"
"""First letter of the token of a concept that is named but ruled out."""


class TermField(StrEnum):
    """Where a term of the vocabulary comes from."""

    WORD = "word"
    CODE = "code"
    MAKER = "maker"


class GroupKind(StrEnum):
    """What a group of a question stands for."""

    CONCEPT = "concept"
    CODE = "code"
    MAKER = "maker"
    NUMBER = "number"
    WORD = "word"
    CONCEPT_WORD = "concept_word"
    UNKNOWN_WORD = "unknown_word"


@dataclass(frozen=True, slots=True)
class Group:
    """One thing that a question says: alternatives of which a row should have one.

    Attributes:
        kind: what it stands for.
        text: how the question said it, for explanations.
        weight: share in the score.
        alternatives: index tokens, each with how good an answer it is (0..1).
    """

    kind: GroupKind
    text: str
    weight: float
    alternatives: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a question; ``factor`` below 1 marks the less likely one."""

    groups: tuple[Group, ...]
    factor: float = 1.0


class LateReadings(Sequence[Reading]):
    """Readings that are made when they are first looked at: a part number that is found needs none.

    Args:
        read: makes them.
    """

    def __init__(self, read: Callable[[], Sequence[Reading]]) -> None:
        self._read = read
        self._made: Sequence[Reading] | None = None

    def _get(self) -> Sequence[Reading]:
        if self._made is None:
            self._made = self._read()
        return self._made

    @overload
    def __getitem__(self, at: int) -> Reading: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[Reading]: ...

    def __getitem__(self, at: int | slice) -> Reading | Sequence[Reading]:
        return self._get()[at]

    def __len__(self) -> int:
        return len(self._get())


@dataclass(frozen=True, slots=True)
class Question:
    """A question taken apart.

    Attributes:
        text: the question, cut to what is read.
        number_key: key of the whole question, empty when it can't be a part number.
        number_keys_inside: keys of neighbouring words that may be a part number.
        readings: at least one, the likeliest first.
        is_bare_number: whether it is written like a part number and like nothing else.
    """

    text: str
    number_key: str
    number_keys_inside: tuple[str, ...]
    readings: Sequence[Reading]
    is_bare_number: bool = False


@dataclass(frozen=True, slots=True)
class Ahead:
    """What a look-up is likely to ask of a store, which may be far away and read it all at once.

    Attributes:
        keys: keys of part numbers, which may be asked for as they are.
        start: the first characters of a key, empty for none.
        near_starts: first characters of keys that may be one edit away, one or two, none for none.
        near_reversed: first characters of such keys read backwards.
        groups: tokens of which a row should have one each, empty for none.
        limit: rows wanted that have a token of every group.
        engine_tokens: tokens of which the entry of an engine may have one.
    """

    keys: tuple[str, ...] = ()
    start: str = ""
    near_starts: tuple[str, ...] = ()
    near_reversed: str = ""
    groups: tuple[tuple[str, ...], ...] = ()
    limit: int = 0
    engine_tokens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RowText:
    """What a catalogue row says.

    Attributes:
        part_number: as the maker writes it.
        maker: its name.
        description: free text.
        concepts: kinds of article that are known without reading, for example the part type.
        ruled_out: concepts that it is known not to be, whatever its words seem to say.
        codes: engine codes.
        sizes: known sizes with their units ("mm", "g", "rpm", "deg" ...), in the order to be kept.
    """

    part_number: str
    maker: str
    description: str
    concepts: tuple[str, ...] = ()
    ruled_out: frozenset[str] = frozenset()
    codes: tuple[str, ...] = ()
    sizes: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class RowKeys:
    """Index keys of a row, and the terms it adds to the vocabulary (field and term)."""

    tokens: tuple[str, ...]
    concepts: tuple[str, ...]
    size_code: str
    number_key: str
    look_alike_key: str
    reversed_key: str
    terms: tuple[tuple[TermField, str], ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A row that a store fetched: its identity, its index tokens and how many of them are words."""

    row_id: int
    tokens: frozenset[str]
    word_count: int = 0


def build_candidate(row_id: int, tokens: str) -> Candidate:
    """A row from its stored tokens, separated by blanks.

    Example:
        >>> build_candidate(7, "kdrivebelt n788 wbelt").word_count
        1
    """
    return Candidate(row_id, frozenset(tokens.split()), tokens.count(" w"))


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Terms of the stored rows: words with counts, squeezed codes, folded names of makers."""

    words: Mapping[str, int] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()
    makers: tuple[str, ...] = ()


def collect_vocabulary(terms: Iterable[tuple[str, str, int]]) -> Vocabulary:
    """Vocabulary from stored terms: field (``TermField``), term, number of rows that have it.

    Example:
        >>> collect_vocabulary([("word", "red", 3), ("maker", "beluna", 1)]).makers
        ('beluna',)
    """
    words: dict[str, int] = {}
    codes: set[str] = set()
    makers: set[str] = set()
    for kind, term, count in terms:
        if kind == TermField.WORD:
            words[term] = words.get(term, 0) + count
        elif kind == TermField.CODE:
            codes.add(term)
        else:
            makers.add(term)
    return Vocabulary(words, frozenset(codes), tuple(sorted(makers)))
