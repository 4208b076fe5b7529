"""The whole look-up: part number first, then wording and sizes, then what is nearly the asked size."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice

from kb.rules.match.explain import format_number_why, format_why
from kb.rules.match.near import NearSize, list_near_groups, rank_near
from kb.rules.match.numbers import ONLY_TYPED, UNITS
from kb.rules.match.part_number import (
    MIN_EDIT_KEY,
    NumberStep,
    format_look_alike,
    is_one_edit,
    may_be_worn,
    repair_digits,
    split_for_one_edit,
)
from kb.rules.match.places import read_asked_place
from kb.rules.match.score import NUMBER_STEP_CERTAINTY, Scored, rank_certainty, rank_scored
from kb.rules.match.store import CandidateStore
from kb.rules.match.tokens import Ahead, Candidate, Group, GroupKind, Question, Reading
from kb.terms import Certainty

FETCH_LIMIT = 300
TRY_LIMIT = 150
"""Rows fetched by one try of a wording; where more have all that was asked, little tells them apart.

Source: measured on 300 generated questions to 100,000 rows: the row meant is among the first ten for 297 of
them, with 100, 150, 200 and 300 rows alike.
"""
ENOUGH = 8
MAX_TRIES = 14
_HALF_KEY_LIMIT = 3_000
_SURE_KEY_INSIDE = 8
_MAX_WORN_KEYS = 6
_END_LIMIT = 20
_NUMBER_STEP_SCORE = {
    NumberStep.EXACT: 1.0,
    NumberStep.LOOK_ALIKE: 0.98,
    NumberStep.PREFIX: 0.9,
    NumberStep.ONE_EDIT: 0.88,
    NumberStep.END: 0.86,
}
_LOOKED_BEHIND = 30
"""Rows behind those wanted that may come before a row that says something against the question."""
_CERTAINTIES = (Certainty.SURE, Certainty.PROBABLE, Certainty.UNSURE)
_WITH_BARE = frozenset(UNITS.values()) - ONLY_TYPED
_NOT_FETCHED = frozenset({GroupKind.CONCEPT_WORD, GroupKind.UNKNOWN_WORD})


@dataclass(frozen=True, slots=True)
class Match:
    """A row found: its score, how sure it is that this row was meant, why; how it was met."""

    candidate: Candidate
    score: float
    certainty: Certainty
    why: str
    step: NumberStep | None = None
    scored: Scored | None = None


@dataclass(frozen=True, slots=True)
class LookUp:
    """Answer to a question: rows, best first; and apart from them rows of nearly the asked size."""

    question: Question
    matches: tuple[Match, ...]
    near_sizes: tuple[NearSize, ...]


def list_number_keys(questions: Sequence[Question]) -> tuple[str, ...]:
    """Keys of part numbers that the look-ups of some questions may ask for as they are."""
    keys = [key for question in questions for key in (question.number_key, *question.number_keys_inside)]
    return tuple(key for key in dict.fromkeys((*keys, *map(format_look_alike, keys))) if key)


def plan_ahead(questions: Sequence[Question]) -> Ahead:
    """What the look-ups of some questions are likely to ask; of the wording, that of the first one."""
    first = questions[0]
    start = first.number_key
    near_starts, near_reversed = _list_near_starts(start) if len(start) >= MIN_EDIT_KEY else ((), "")
    return Ahead(
        keys=list_number_keys(questions),
        start=start,
        near_starts=near_starts,
        near_reversed=near_reversed,
        groups=()
        if first.is_bare_number
        else tuple(map(list_fetched_tokens, _list_fetched(first.readings[0]))),
        limit=TRY_LIMIT,
    )


def _list_near_starts(key: str) -> tuple[tuple[str, ...], str]:
    """First characters of the keys that may be one edit away: as they are read, and read backwards."""
    starts, reversed_start = split_for_one_edit(key)
    return tuple(dict.fromkeys(starts)), reversed_start


def find_by_number(store: CandidateStore, key: str) -> tuple[NumberStep, list[Candidate]] | None:
    """Rows by part number with the step that found them, or None.

    Args:
        store: the rows.
        key: letters and digits of what was typed, upper case.
    """
    found = list(store.find_by_key([key], limit=FETCH_LIMIT))
    if found:
        return NumberStep.EXACT, found
    found = list(store.find_by_key_start(key, limit=FETCH_LIMIT))
    if found:
        return NumberStep.PREFIX, found
    found = list(store.find_by_look_alike(format_look_alike(key), limit=FETCH_LIMIT))
    if found:
        return NumberStep.LOOK_ALIKE, found
    repaired = repair_digits(key)
    if repaired != key:
        found = list(store.find_by_key_start(repaired, limit=FETCH_LIMIT))
        if found:
            return NumberStep.PREFIX, found
    found = _find_one_edit(store, key) if len(key) >= MIN_EDIT_KEY else []
    if found:
        return NumberStep.ONE_EDIT, found
    found = _find_end(store, key) if key[0].isdigit() else []
    return (NumberStep.END, found) if found else None


def _find_end(store: CandidateStore, key: str) -> list[Candidate]:
    """Rows whose part number ends as asked: the letters before the figures were left out."""
    row_ids = [row_id for row_id, other in store.list_keys((), key[::-1], limit=_END_LIMIT) if other != key]
    return list(store.get_rows(sorted(row_ids))) if row_ids else []


def _find_one_edit(store: CandidateStore, key: str) -> list[Candidate]:
    keys = store.list_keys(*_list_near_starts(key), limit=_HALF_KEY_LIMIT)
    row_ids = sorted({row_id for row_id, other in keys if is_one_edit(key, other)})
    return list(store.get_rows(row_ids[:FETCH_LIMIT])) if row_ids else []


def list_fetched_tokens(group: Group) -> tuple[str, ...]:
    """Tokens that fetch the rows of a group: a row with a number in its unit has the bare number as well.

    Example:
        >>> grams = Group(GroupKind.NUMBER, "7 g", 1.6, (("n7g", 1.0), ("n7", 0.85)))
        >>> wheel = Group(GroupKind.NUMBER, "12 in", 1.6, (("n12in", 1.0), ("n12", 0.85)))
        >>> list_fetched_tokens(grams), list_fetched_tokens(wheel)
        (('n7',), ('n12in', 'n12'))
    """
    tokens = tuple(token for token, _ in group.alternatives)
    if (
        group.kind is GroupKind.NUMBER
        and len(tokens) == 2
        and tokens[0].removeprefix(tokens[1]) in _WITH_BARE
    ):
        return tokens[1:]
    return tokens


def _list_tries(groups: Sequence[Group]) -> Iterator[list[Sequence[str]]]:
    """All groups, then without the lightest one, two, three; at most 14 tries."""
    tokens: list[Sequence[str]] = [list_fetched_tokens(group) for group in groups]
    yield tokens
    drops: list[tuple[float, tuple[int, ...]]] = []
    for count in range(1, min(4, len(groups))):
        if len(drops) >= MAX_TRIES:
            break  # those that leave out more come later
        for places in combinations(range(len(groups)), count):
            drops.append((sum(groups[place].weight for place in places), places))
    drops.sort(key=lambda drop: (len(drop[1]), drop[0], drop[1]))
    for _, places in drops[: MAX_TRIES - 1]:
        yield [alternatives for place, alternatives in enumerate(tokens) if place not in places]


def _list_fetched(reading: Reading) -> list[Group]:
    """Groups by which rows are fetched."""
    return [group for group in reading.groups if group.kind not in _NOT_FETCHED and group.alternatives]


def fetch_reading(store: CandidateStore, reading: Reading, *, only_whole: bool = False) -> list[Candidate]:
    """Rows with all, or nearly all, that one reading asks for; only with all of it where so wanted."""
    groups = _list_fetched(reading)
    if only_whole:
        return list(store.fetch(list(map(list_fetched_tokens, groups)), limit=TRY_LIMIT)) if groups else []
    rows: dict[int, Candidate] = {}
    for wanted in _list_tries(groups) if groups else ():
        rows.update((row.row_id, row) for row in store.fetch(wanted, limit=TRY_LIMIT))
        if len(rows) >= ENOUGH or (rows and len(wanted) == len(groups)):
            break  # rows with all that is asked leave nothing to look for
    return list(rows.values()) or _fetch_some(store, groups)


def _fetch_some(store: CandidateStore, groups: Sequence[Group]) -> list[Candidate]:
    """Rows with all sizes and codes, or with the heaviest group, where most that is asked is in none."""
    sizes = [group for group in groups if group.kind in (GroupKind.NUMBER, GroupKind.CODE)]
    heaviest = sorted(groups, key=lambda group: -group.weight)[:1]
    for some in (sizes, heaviest):
        wanted = list(map(list_fetched_tokens, some))
        rows = store.fetch(wanted, limit=TRY_LIMIT) if wanted else ()
        if rows:
            return list(rows)
    return []


def _match_text(store: CandidateStore, question: Question, *, limit: int, only_whole: bool) -> list[Match]:
    rows = {
        row.row_id: row
        for reading in question.readings
        for row in fetch_reading(store, reading, only_whole=only_whole)
    }
    ranked = rank_scored(question, rows.values())
    if not ranked:
        return []
    best_score = ranked[0].score
    matches = [
        Match(
            one.candidate, one.score, rank_certainty(one, best_score=best_score), format_why(one), scored=one
        )
        for one in _put_contradicting_last(question, ranked[: limit + _LOOKED_BEHIND])[:limit]
        if one.score > 0.0
    ]
    return sorted(matches, key=lambda match: (-round(match.score, 6), _CERTAINTIES.index(match.certainty)))


def _put_contradicting_last(question: Question, ranked: list[Scored]) -> list[Scored]:
    """Of rows that answer equally well, those last that say something against the question."""
    asked_place = read_asked_place(question.readings[0].groups)
    against = [asked_place.list_contradictions(one.candidate.tokens) for one in ranked]
    if not any(against):
        return ranked
    told = [replace(one, contradictions=said) for one, said in zip(ranked, against, strict=True)]
    return sorted(told, key=lambda one: (-round(one.score, 6), bool(one.contradictions)))


def _make_number_matches(
    step: NumberStep, rows: Iterable[Candidate], *, certainty: Certainty | None = None
) -> list[Match]:
    sure = certainty or NUMBER_STEP_CERTAINTY[step]
    score = _NUMBER_STEP_SCORE[step]
    return [Match(row, score, sure, format_number_why(step), step) for row in rows]


def _match_numbers(store: CandidateStore, question: Question) -> list[Match]:
    if question.number_key:
        step, numbered = find_by_number(store, question.number_key) or (NumberStep.EXACT, [])
        numbered = [row for row in numbered if not _names_other_maker(question, row)]
        if numbered:
            return _make_number_matches(step, numbered)
    if question.number_keys_inside:
        rows = store.find_by_key(question.number_keys_inside, limit=FETCH_LIMIT)
        long_keys = [key for key in question.number_keys_inside if len(key) >= _SURE_KEY_INSIDE]
        by_long_key = store.find_by_key(long_keys, limit=FETCH_LIMIT) if rows and long_keys else ()
        sure = [row for row in by_long_key if not _names_other_maker(question, row)]
        others = [row for row in rows if row not in sure]
        exact = _make_number_matches(NumberStep.EXACT, sure) + _make_number_matches(
            NumberStep.EXACT, others, certainty=Certainty.PROBABLE
        )
        return exact or _match_worn_numbers(store, question)
    return []


def _list_worn_keys(question: Question) -> list[str]:
    return list(islice(filter(may_be_worn, question.number_keys_inside), _MAX_WORN_KEYS))


def _match_worn_numbers(store: CandidateStore, question: Question) -> list[Match]:
    """Rows by a part number within a longer question, of which worn digits were read as letters."""
    worn = _list_worn_keys(question)
    rows = [
        row for key in worn for row in store.find_by_look_alike(format_look_alike(key), limit=FETCH_LIMIT)
    ]
    return _make_number_matches(NumberStep.LOOK_ALIKE, rows, certainty=Certainty.PROBABLE)


def _names_other_maker(question: Question, row: Candidate) -> bool:
    """Whether the words around a part number name a maker that is not the row's."""
    if question.is_bare_number:
        return False
    makers = [group for group in question.readings[0].groups if group.kind is GroupKind.MAKER]
    return any(not any(token in row.tokens for token, _ in group.alternatives) for group in makers)


def _merge(numbers: list[Match], texts: list[Match]) -> list[Match]:
    """Number matches first, unless only the wording is sure; a row once."""
    text_first = bool(
        numbers
        and texts
        and numbers[0].certainty is not Certainty.SURE
        and texts[0].certainty is Certainty.SURE
    )
    ordered = texts + numbers if text_first else numbers + texts
    merged: dict[int, Match] = {}
    for match in ordered:
        merged.setdefault(match.candidate.row_id, match)
    return list(merged.values())


def _find_near_sizes(store: CandidateStore, question: Question, *, limit: int) -> tuple[NearSize, ...]:
    reading = question.readings[0]
    groups = list_near_groups(reading)
    if not groups:
        return ()
    return tuple(rank_near(reading, store.fetch(groups, limit=FETCH_LIMIT))[:limit])


def look_up(store: CandidateStore, question: Question, *, limit: int = 10) -> LookUp:
    """Rows that the question describes, best first.

    Args:
        store: the rows.
        question: from ``Analyser.analyse_question``.
        limit: rows wanted, at least 1.

    Returns:
        Matches with certainty and explanation. Rows of nearly the asked size stand apart, and only
        when no match is sure or probable.
    """
    numbers = _match_numbers(store, question)
    settled = bool(numbers) and (question.is_bare_number or numbers[0].certainty is Certainty.SURE)
    # A question that is the beginning of a part number is not answered by rows with one of its figures.
    texts = [] if settled else _match_text(store, question, limit=limit, only_whole=bool(numbers))
    matches = tuple(_merge(numbers, texts)[:limit])
    is_open = not matches or matches[0].certainty is Certainty.UNSURE
    near = _find_near_sizes(store, question, limit=limit) if is_open else ()
    return LookUp(question, matches, near)
