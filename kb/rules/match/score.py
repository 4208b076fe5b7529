"""How well a row answers a question, in which order rows are shown, and how sure the first one is.

Score = matched weight / whole weight, times 0.93 for each number that the row lacks. The score alone never
makes an answer sure: every size, code and maker of the question must be in the row.

Source: measured on generated questions, a fifth of them without an answer (judgement of this project).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from kb.rules.match.numbers import UNITS, convert_number_token
from kb.rules.match.part_number import NumberStep
from kb.rules.match.threads import BARE_DIAMETER_FACTOR
from kb.rules.match.tokens import NAMED_ONLY, Candidate, Group, GroupKind, Question, Reading
from kb.terms import Certainty

MISSING_NUMBER_FACTOR = 0.93
SURE_SCORE = 0.90
PROBABLE_SCORE = 0.70
PROBABLE_SCORE_NOT_ALL_MET = 0.85
BEHIND_BEST = 0.03
"""A row this far behind the best one is not sure, even if it has all that was asked."""

NUMBER_STEP_CERTAINTY = {
    NumberStep.EXACT: Certainty.SURE,
    NumberStep.LOOK_ALIKE: Certainty.SURE,
    NumberStep.PREFIX: Certainty.PROBABLE,
    NumberStep.ONE_EDIT: Certainty.PROBABLE,
    NumberStep.END: Certainty.PROBABLE,
}
_DECIDING = frozenset({GroupKind.NUMBER, GroupKind.CODE, GroupKind.MAKER})
_MIN_BARE_NUMBERS = 3
_TOKEN_CACHE = 50_000
_SINGLE_VALUED = frozenset({"g", "rpm", "v", "ah", "ml", "cc", "m", "af"})
"""Units of which an article has one value: one mass, one voltage, one thread."""
_TYPED_UNITS = frozenset(UNITS.values()) - {"mm", "in", "pc", "stroke"}


@dataclass(frozen=True, slots=True)
class Scored:
    """A row with its score for one reading: what it met, what it lacks, what else it says, and against it."""

    candidate: Candidate
    score: float
    met: tuple[Group, ...]
    missing: tuple[Group, ...]
    unasked_numbers: int
    unasked_words: int = 0
    contradictions: tuple[str, ...] = ()

    @property
    def other_units(self) -> tuple[Group, ...]:
        """Numbers that the row has only with another unit than asked.

        One may be a slip of the pen; two are another article (6 V 12 Ah is not 12 V 6 Ah).
        """
        tokens = self.candidate.tokens
        return tuple(
            group for group in self.met if len(group.alternatives) == 2 and has_other_unit(group, tokens)
        )

    @property
    def other_kinds(self) -> tuple[Group, ...]:
        """Kinds of part that the row's words name while it is recorded as another one."""
        tokens = self.candidate.tokens
        return tuple(
            group for group in self.met if group.kind is GroupKind.CONCEPT and is_only_named(group, tokens)
        )

    @property
    def is_all_met(self) -> bool:
        """Whether every size, code and maker of the question is in the row."""
        return not any(group.kind in _DECIDING for group in self.missing)


def find_best_alternative(group: Group, tokens: frozenset[str]) -> float:
    """How well the row's tokens answer one group: the best alternative present, 0 if none."""
    best = 0.0
    for token, factor in group.alternatives:
        if factor > best and token in tokens:
            best = factor
    return best


def _split_typed(group: Group, tokens: frozenset[str]) -> tuple[str, str] | None:
    """Plain token and unit of a number that the row has, but not with the unit asked; else None."""
    if group.kind is not GroupKind.NUMBER or len(group.alternatives) != 2:
        return None
    (typed, _), (plain, _) = group.alternatives
    if typed in tokens or plain not in tokens or not typed.startswith(plain):
        return None
    return plain, typed[len(plain) :]


def is_only_named(group: Group, tokens: frozenset[str]) -> bool:
    """Whether the row names the kind of part that is asked for, but is recorded as another one.

    Example:
        >>> gasket = Group(GroupKind.CONCEPT, "gasket", 3.0, (("kgasket", 1.0), ("pgasket", 0.5)))
        >>> is_only_named(gasket, frozenset({"pgasket"})), is_only_named(gasket, frozenset({"kgasket"}))
        (True, False)
    """
    if group.kind is not GroupKind.CONCEPT:
        return False
    present = [token for token, _ in group.alternatives if token in tokens]
    return bool(present) and all(token.startswith(NAMED_ONLY) for token in present)


def has_other_unit(group: Group, tokens: frozenset[str]) -> bool:
    """Whether the row has the group's number, but with another unit than the question gave.

    Example:
        >>> volts = Group(GroupKind.NUMBER, "12 v", 1.6, (("n12v", 1.0), ("n12", 0.85)))
        >>> has_other_unit(volts, frozenset({"n12", "n12ah"})), has_other_unit(volts, frozenset({"n12"}))
        (True, False)
    """
    split = _split_typed(group, tokens)
    return split is not None and any(split[0] + unit in tokens for unit in _TYPED_UNITS)


def has_other_value(group: Group, tokens: frozenset[str]) -> bool:
    """Whether the row states another value in the unit asked: 23 mm and 25 g do not answer 23 g.

    Example:
        >>> mass = Group(GroupKind.NUMBER, "23 g", 1.6, (("n23g", 1.0), ("n23", 0.85)))
        >>> has_other_value(mass, frozenset({"n23", "n25g"})), has_other_value(mass, frozenset({"n23"}))
        (True, False)
    """
    split = _split_typed(group, tokens)
    if split is None or split[1] not in _SINGLE_VALUED:
        return False
    unit = split[1]
    return any(
        token.endswith(unit) and convert_number_token(token.removesuffix(unit)) is not None
        for token in tokens
    )


@lru_cache(_TOKEN_CACHE)
def _is_plain_number(token: str) -> bool:
    return token[0] == "n" and convert_number_token(token) is not None


def count_numbers(tokens: Iterable[str]) -> int:
    """Plain numbers among a row's tokens."""
    return sum(map(_is_plain_number, tokens))


@dataclass(frozen=True, slots=True)
class _Pattern:
    """What tokens answer of a reading; ``is_of_one_row`` when the row's other tokens had a say too."""

    score: float
    met: tuple[Group, ...]
    missing: tuple[Group, ...]
    met_numbers: int
    met_words: int
    is_of_one_row: bool


def _score_tokens(reading: Reading, tokens: frozenset[str], held: frozenset[str]) -> _Pattern:
    met: list[Group] = []
    missing: list[Group] = []
    matched = total = 0.0
    missing_numbers = met_numbers = 0
    is_of_one_row = False
    for group in reading.groups:
        answer = find_best_alternative(group, tokens)
        if 0.0 < answer < 1.0 and group.kind is GroupKind.NUMBER:
            is_of_one_row = True
            answer = 0.0 if has_other_value(group, tokens) else answer
        total += group.weight
        matched += group.weight * answer
        (met if answer else missing).append(group)
        if group.kind is GroupKind.NUMBER:
            met_numbers += answer > 0.0
            missing_numbers += answer == 0.0
    met_words = sum(token[0] == "w" for token in held)
    score = matched / total * MISSING_NUMBER_FACTOR**missing_numbers * reading.factor if total else 0.0
    return _Pattern(score, tuple(met), tuple(missing), met_numbers, met_words, is_of_one_row)


def score_candidates(reading: Reading, candidates: Iterable[Candidate]) -> Iterator[Scored]:
    """Scores of rows for one reading of the question, 0..1.

    Most rows hold the same few of the tokens asked for; each such pattern is scored once.
    """
    asked = frozenset(token for group in reading.groups for token, _ in group.alternatives)
    known: dict[frozenset[str], _Pattern] = {}
    for candidate in candidates:
        held = asked & candidate.tokens
        pattern = known.get(held)
        if pattern is None:
            pattern = _score_tokens(reading, candidate.tokens, held)
            if not pattern.is_of_one_row:
                known[held] = pattern
        numbers = max(0, count_numbers(candidate.tokens) - pattern.met_numbers)
        words = candidate.word_count - pattern.met_words
        yield Scored(candidate, pattern.score, pattern.met, pattern.missing, numbers, words)


def score_candidate(reading: Reading, candidate: Candidate) -> Scored:
    """Score of a row for one reading of the question, 0..1."""
    return next(score_candidates(reading, (candidate,)))


def rank_scored(question: Question, candidates: Iterable[Candidate]) -> list[Scored]:
    """Rows as they are shown: best score, fewest numbers and words not asked for, then as they were added."""
    rows = tuple(candidates)
    best: dict[int, Scored] = {}
    for scored in zip(*(score_candidates(reading, rows) for reading in question.readings), strict=True):
        best[scored[0].candidate.row_id] = (
            scored[0] if len(scored) == 1 else max(scored, key=lambda one: (one.score, one.is_all_met))
        )
    return sorted(
        best.values(),
        key=lambda one: (
            -round(one.score, 6),
            one.unasked_numbers,
            one.unasked_words,
            one.candidate.row_id,
        ),
    )


def rank_certainty(scored: Scored, *, best_score: float) -> Certainty:
    """Whether the row is the one the question describes; it says nothing about fit.

    Args:
        scored: the row with its score.
        best_score: score of the first row; one well behind it is at most probable.

    Example:
        >>> row = Candidate(1, frozenset({"kbelt", "n788"}))
        >>> belt = Group(GroupKind.CONCEPT, "belt", 3.0, (("kbelt", 1.0),))
        >>> asked = Reading((belt, Group(GroupKind.NUMBER, "787", 1.6, (("n787", 1.0),))))
        >>> rank_certainty(score_candidate(asked, row), best_score=0.6).value
        'unsure'
    """
    least = PROBABLE_SCORE if scored.is_all_met else PROBABLE_SCORE_NOT_ALL_MET
    if scored.score < least or len(scored.other_units) > 1 or _says_too_little(scored):
        return Certainty.UNSURE
    if not scored.is_all_met:
        return Certainty.PROBABLE
    is_best = scored.score >= max(SURE_SCORE, best_score - BEHIND_BEST)
    return (
        Certainty.SURE
        if is_best and _has_anchor(scored.met) and not _has_doubt(scored)
        else Certainty.PROBABLE
    )


def _says_too_little(scored: Scored) -> bool:
    """Whether what is met names no row: one bare number; or codes and numbers of a thing not understood."""
    kinds = {group.kind for group in scored.met}
    if not kinds <= {GroupKind.CODE, GroupKind.NUMBER}:
        is_anchored = bool(kinds & _DECIDING)
        return not is_anchored and any(group.kind is GroupKind.UNKNOWN_WORD for group in scored.missing)
    if any(group.kind in (GroupKind.UNKNOWN_WORD, GroupKind.WORD) for group in scored.missing):
        return True
    return kinds == {GroupKind.NUMBER} and len(scored.met) == 1


def _has_doubt(scored: Scored) -> bool:
    """Whether a unit, the kind or the place differs, a maker was guessed, or a word was not understood."""
    tokens = scored.candidate.tokens
    guessed = any(
        group.kind in (GroupKind.MAKER, GroupKind.NUMBER)
        and find_best_alternative(group, tokens) < BARE_DIAMETER_FACTOR
        for group in scored.met
    )
    return bool(guessed or scored.other_kinds or scored.contradictions) or any(
        group.kind is GroupKind.UNKNOWN_WORD for group in scored.missing
    )


def _has_anchor(met: Iterable[Group]) -> bool:
    """A code, or a number of a named article, or at least three bare numbers."""
    kinds = [group.kind for group in met]
    numbers = kinds.count(GroupKind.NUMBER)
    named = GroupKind.CONCEPT in kinds
    return GroupKind.CODE in kinds or (named and numbers > 0) or numbers >= _MIN_BARE_NUMBERS
