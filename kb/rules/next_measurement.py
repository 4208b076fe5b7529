"""Which measurement to take next: the one expected to leave the fewest engines for the least work.

A person meets it as a question with a way to measure: "How long is the drive case?" The expected count
takes every remaining engine as equally likely, lets each recorded value be the one that is read, and
counts the engines that such a reading could leave: those with a value too close to split, and all with
nothing recorded. It does not say that a reading is easy to take well.

Source: plain counting; what a measurement costs in work is a judgement of this project.

Example:
    >>> rank_measurements({
    ...     "a": {"case_length": [FeatureValue("case_length", 400.0)]},
    ...     "b": {"case_length": [FeatureValue("case_length", 450.0)]},
    ... })[0].expected_remaining
    1.0
"""

import math
from bisect import bisect_left, bisect_right, insort
from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from kb.rules.feature import FeatureValue, Recorded, Value, agrees, clean_word, half_width
from kb.rules.measurement_question import WORK_OF_EASE, Ease, find_ease, find_question
from kb.rules.quantity import EQUAL

MAX_BRANCHES = 50


@dataclass(frozen=True, slots=True)
class NextMeasurement:
    """A measurement worth taking.

    ``splits`` names, for each value recorded, the engines with a record that the reading of just that value
    would leave; empty when there are more than ``MAX_BRANCHES`` values. ``not_recorded`` stay in every
    branch. A reading between two values may leave more, and ``expected_remaining`` counts that.
    """

    quantity: str
    question: str
    how: str | None
    unit: str | None
    ease: Ease
    expected_remaining: float
    splits: dict[str, tuple[str, ...]]
    not_recorded: tuple[str, ...]


def rank_measurements(
    records: Mapping[str, Recorded], *, measured: Container[str] = (), limit: int = 5
) -> tuple[NextMeasurement, ...]:
    """Measurements that would leave fewer engines, the most telling for its work first.

    Args:
        records: by engine, what is recorded.
        measured: quantities that were read already and are not asked for again.
        limit: how many to name at most.

    Returns:
        Only measurements that can be expected to rule something out. Order: information gained
        (in halvings of the count) per unit of work, then the easier, then the name.

    Source: as the module.
    """
    columns: defaultdict[str, Recorded] = defaultdict(dict)
    for engine, recorded in records.items():
        for quantity, values in recorded.items():
            columns[quantity][engine] = values
    total = len(records)
    ranked: list[tuple[float, float, str]] = []
    described: dict[str, tuple[Ease, float]] = {}
    for quantity, column in columns.items():
        left = total if quantity in measured else expected_remaining(column, total=total)
        if left < total - EQUAL:
            ease = find_ease(quantity, how=_usual([value.how for value in _all(column)]))
            work = WORK_OF_EASE[ease]
            ranked.append((-math.log2(total / left) / work, work, quantity))
            described[quantity] = (ease, left)
    return tuple(
        _describe(quantity, columns[quantity], engines=tuple(records), ease_and_left=described[quantity])
        for _, _, quantity in sorted(ranked)[:limit]
    )


def expected_remaining(column: Recorded, *, total: int) -> float:
    """Engines expected to remain after one reading of a quantity.

    Args:
        column: by engine, the values recorded for the quantity; engines with none are absent.
        total: how many engines remain now, those without a record included.

    Returns:
        Between 1 and ``total``. With nothing recorded, ``total``.

    Source: plain counting, every engine and every value of an engine equally likely.

    Example:
        >>> values = {"a": 10.0, "b": 10.0, "c": 12.0}
        >>> column = {engine: [FeatureValue("stud_count", value)] for engine, value in values.items()}
        >>> round(expected_remaining(column, total=4), 3)  # (2 + 2 + 1) / 3, and one engine without a record
        2.667
    """
    if not column:
        return float(total)
    numbers: list[list[_Interval]] = []
    words: list[set[str]] = []
    known: dict[tuple[Value, str | None, str | None], _Interval] = {}
    for values in column.values():
        if isinstance(values[0].value, str) and all(isinstance(value.value, str) for value in values):
            words.append({clean_word(str(value.value)) for value in values})
        elif len(values) == 1:
            numbers.append([_find_interval(values[0], known)])
        else:
            numbers.append(
                sorted(_find_interval(value, known) for value in values if not isinstance(value.value, str))
            )
    # A word can't be held against a number, so either kind stays when the other is read.
    crossed = 2 * len(numbers) * len(words)
    overlaps = _sum_of_overlaps(numbers) + _sum_of_equal_words(words) + crossed
    return total - len(column) + overlaps / len(column)


_Interval = tuple[float, float]


def _find_interval(
    feature: FeatureValue, known: dict[tuple[Value, str | None, str | None], _Interval]
) -> _Interval:
    """The open interval that a recorded number takes up; engines share values, so each is worked out once."""
    key = (feature.value, feature.unit, feature.how)
    interval = known.get(key)
    if interval is None:
        half = half_width(feature)
        value = float(feature.value)
        interval = known[key] = (value - half, value + half)
    return interval


def _sum_of_overlaps(engines: list[list[_Interval]]) -> float:
    """Sum over engines of the mean, over the engine's values, of how many engines that value could leave.

    Counted through what is left out: a reading leaves an engine out when it lies before its first value,
    after its last, or in a gap between two. Sorting makes this n log n in place of n squared.
    """
    firsts = sorted([intervals[0][0] for intervals in engines])
    lasts = sorted([max(intervals, key=_high_end)[1] for intervals in engines])
    gaps = sorted(gap for intervals in engines if len(intervals) > 1 for gap in _gaps(intervals))
    weights: dict[_Interval, float] = {}
    for intervals in engines:
        for interval in intervals:
            weights[interval] = weights.get(interval, 0.0) + 1.0 / len(intervals)
    total = 0.0
    gap_ends: list[float] = []
    next_gap = 0
    for low, high in sorted(weights):
        while next_gap < len(gaps) and gaps[next_gap][0] <= low:
            insort(gap_ends, gaps[next_gap][1])
            next_gap += 1
        before = len(firsts) - bisect_left(firsts, high)
        after = bisect_right(lasts, low)
        between = len(gap_ends) - bisect_left(gap_ends, high)
        total += weights[(low, high)] * (len(engines) - before - after - between)
    return total


def _high_end(interval: _Interval) -> float:
    return interval[1]


def _gaps(intervals: list[_Interval]) -> list[_Interval]:
    """Stretches between sorted intervals that none of them covers."""
    gaps: list[_Interval] = []
    reached = intervals[0][1]
    for low, high in intervals[1:]:
        if low >= reached:
            gaps.append((reached, low))
        reached = max(reached, high)
    return gaps


def _sum_of_equal_words(engines: list[set[str]]) -> float:
    """The same sum for words: how many engines have the word that is read."""
    having = Counter(word for words in engines for word in words)
    return sum(sum(having[word] for word in words) / len(words) for words in engines)


def _all(column: Recorded) -> Iterator[FeatureValue]:
    return chain.from_iterable(column.values())


def _usual(texts: Iterable[str | None]) -> str | None:
    """The text that stands most often, the alphabetically first among equals; None without any."""
    counted = Counter(filter(None, texts))
    return min(counted, key=lambda text: (-counted[text], text)) if counted else None


def _describe(
    quantity: str, column: Recorded, *, engines: tuple[str, ...], ease_and_left: tuple[Ease, float]
) -> NextMeasurement:
    question, usual_how = find_question(quantity)
    return NextMeasurement(
        quantity=quantity,
        question=question,
        how=_usual(value.how for value in _all(column)) or usual_how,
        unit=_usual(value.unit for value in _all(column)),
        ease=ease_and_left[0],
        expected_remaining=ease_and_left[1],
        splits=_split(column),
        not_recorded=tuple(engine for engine in engines if engine not in column),
    )


def _split(column: Recorded) -> dict[str, tuple[str, ...]]:
    """Engines that the reading of each recorded value would leave, by the value as text."""
    if len({value.value for value in _all(column)}) > MAX_BRANCHES:
        return {}
    engines_of_value: dict[FeatureValue, dict[str, None]] = {}
    label_of: dict[Value, str] = {}
    for engine, values in column.items():
        for value in values:
            bare = FeatureValue(value.quantity, _bare(value.value), unit=value.unit, how=value.how)
            label_of.setdefault(bare.value, format_value(value.value))
            engines_of_value.setdefault(bare, {})[engine] = None
    branches: dict[str, dict[str, None]] = {}
    for read in sorted(engines_of_value, key=_by_size):
        branch = branches.setdefault(label_of[read.value], {})
        for value, engines in engines_of_value.items():
            if agrees(value, read.value) is not False:
                branch.update(engines)
    return {label: tuple(branch) for label, branch in branches.items()}


def _bare(value: Value) -> Value:
    return clean_word(value) if isinstance(value, str) else value


def _by_size(feature: FeatureValue) -> tuple[bool, float, str]:
    if isinstance(feature.value, str):
        return (True, 0.0, feature.value)
    return (False, feature.value, "")


def format_value(value: Value) -> str:
    """A number without needless zeros, a word as it stands.

    Example:
        >>> format_value(12.0), format_value(12.25), format_value("air")
        ('12', '12.25', 'air')
    """
    return value if isinstance(value, str) else f"{value:.10g}"
