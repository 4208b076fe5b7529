"""Which engines are still possible after some readings, and what to measure next.

A person meets the question at the counter: the machine carries no plate, several engines are likely,
and each needs other parts. What is recorded about them (lengths, diameters, words such as "air") is held
against what was measured. An engine is ruled out only by a recorded value that the reading contradicts;
an engine with nothing recorded stays. The answer does not say that a remaining engine is the right one.

The next measurement is the one that is expected to leave the fewest engines for the least work.

Source: tolerances are settings of this project (``kb.rules.quantity``); the expected count is plain
counting with every remaining engine taken as equally likely; the weights of ease are a judgement of
this project.

Example:
    >>> candidates = [
    ...     Candidate("wren-50", (FeatureValue("wheel_diameter", 10.0, unit="in"),)),
    ...     Candidate("wren-50-l", (FeatureValue("wheel_diameter", 12.0, unit="in"),)),
    ... ]
    >>> answer = compare_engines(candidates, {"wheel_diameter": 12.0})
    >>> [engine.engine for engine in answer.possible], [engine.engine for engine in answer.ruled_out]
    (['wren-50-l'], ['wren-50'])
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations

from kb.rules.feature import (
    Candidate,
    FeatureValue,
    Recorded,
    Value,
    agrees,
    cannot_split,
    clean_word,
    tolerance_of,
)
from kb.rules.nearest import format_nearest
from kb.rules.next_measurement import NextMeasurement, rank_measurements
from kb.rules.quantity import EQUAL, parse_quantity

# Pairs are compared one by one; above this many engines the list would be of no use at a counter.
PAIR_LIMIT = 40


@dataclass(frozen=True, slots=True)
class PossibleEngine:
    """An engine that no reading contradicts."""

    engine: str
    agrees: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RuledOutEngine:
    """An engine that a reading contradicts: the first such reading, and the names of all of them."""

    engine: str
    by: str
    value: Value
    asked: Value
    tolerance: float
    unit: str | None
    source: str | None
    all_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InseparablePair:
    """Two remaining engines that nothing recorded, and not yet measured, can tell apart.

    ``shared`` are the quantities recorded for both that agree; ``matters`` says whether the two need
    something different at the position asked about, None when that isn't known or wasn't asked.
    """

    engines: tuple[str, str]
    shared: tuple[str, ...]
    matters: bool | None
    text: str


@dataclass(frozen=True, slots=True)
class TellApartAnswer:
    """What is left, what is out, and what to measure; ``needs_differ`` is None when not known."""

    possible: tuple[PossibleEngine, ...]
    ruled_out: tuple[RuledOutEngine, ...]
    measure_next: tuple[NextMeasurement, ...]
    inseparable: tuple[InseparablePair, ...]
    needs_differ: bool | None
    notes: tuple[str, ...]


# By engine, what it asks for at the position of the part in question.
Needs = Mapping[str, Mapping[str, Value | None]]


def compare_engines(
    candidates: Sequence[Candidate],
    readings: Mapping[str, Value],
    *,
    needs: Needs | None = None,
    next_limit: int = 5,
) -> TellApartAnswer:
    """What the readings leave of the candidates, and the measurements to take next, best first.

    Args:
        candidates: the engines, each with its recorded values.
        readings: measured value (number, in the unit of the record, or word) by quantity.
        needs: by engine, what it asks for at the position of the part in question; an engine that
            is absent, or a value None, is not known.
        next_limit: how many next measurements to name at most.

    Returns:
        The answer. A reading within the tolerance, limit included, of any recorded value of an engine agrees.

    Source: as the module.
    """
    asked = {parse_quantity(name): value for name, value in readings.items()}
    possible: list[PossibleEngine] = []
    ruled_out: list[RuledOutEngine] = []
    left: dict[str, Recorded] = {}
    for candidate in candidates:
        recorded = _by_quantity(candidate.features)
        verdict = _hold_against(candidate.engine, recorded, asked)
        if isinstance(verdict, RuledOutEngine):
            ruled_out.append(verdict)
        else:
            possible.append(verdict)
            left[candidate.engine] = recorded
    measure_next = rank_measurements(left, measured=asked, limit=next_limit) if len(left) > 1 else ()
    return TellApartAnswer(
        possible=tuple(sorted(possible, key=_most_agreeing)),
        ruled_out=tuple(ruled_out),
        measure_next=measure_next,
        inseparable=_find_inseparable(left, needs, measured=asked),
        needs_differ=_needs_differ(tuple(left), needs),
        notes=tuple(_notes(candidates, asked, left)),
    )


def _clean(value: Value) -> Value:
    return clean_word(value) if isinstance(value, str) else value


def _most_agreeing(engine: PossibleEngine) -> tuple[int, str]:
    return (-len(engine.agrees), engine.engine)


def _by_quantity(features: Sequence[FeatureValue]) -> Recorded:
    recorded: Recorded = {}
    for feature in features:
        quantity = parse_quantity(feature.quantity)
        if quantity in recorded:
            recorded[quantity].append(feature)
        else:
            recorded[quantity] = [feature]
    return recorded


def _hold_against(
    engine: str, recorded: Recorded, asked: Mapping[str, Value]
) -> PossibleEngine | RuledOutEngine:
    agreeing: list[str] = []
    unknown: list[str] = []
    against: list[str] = []
    for quantity, value in asked.items():
        verdicts = [agrees(feature, value) for feature in recorded.get(quantity, [])]
        if True in verdicts:
            agreeing.append(quantity)
        elif False in verdicts and None not in verdicts:
            against.append(quantity)
        else:
            unknown.append(quantity)
    if not against:
        return PossibleEngine(engine, agrees=tuple(agreeing), unknown=tuple(unknown))
    by = against[0]
    nearest = min(recorded[by], key=lambda feature: _distance(feature, asked[by]))
    return RuledOutEngine(
        engine=engine,
        by=by,
        value=nearest.value,
        asked=asked[by],
        tolerance=tolerance_of(nearest),
        unit=nearest.unit,
        source=nearest.source,
        all_by=tuple(against),
    )


def _distance(feature: FeatureValue, asked: Value) -> float:
    if isinstance(feature.value, str) or isinstance(asked, str):
        return 0.0
    return abs(feature.value - asked)


def _find_inseparable(
    records: Mapping[str, Recorded], needs: Needs | None, *, measured: Container[str]
) -> tuple[InseparablePair, ...]:
    if len(records) > PAIR_LIMIT:
        return ()
    pairs: list[InseparablePair] = []
    for first, second in combinations(records, 2):
        shared = tuple(
            quantity
            for quantity in records[first]
            if quantity in records[second] and quantity not in measured
        )
        if all(_blurred(records[first][quantity], records[second][quantity]) for quantity in shared):
            matters = _needs_differ((first, second), needs)
            text = _pair_text((first, second), shared=shared, matters=matters, asked=needs is not None)
            pairs.append(InseparablePair((first, second), shared=shared, matters=matters, text=text))
    return tuple(pairs)


def _blurred(first: Sequence[FeatureValue], second: Sequence[FeatureValue]) -> bool:
    return any(cannot_split(one, other) for one in first for other in second)


def _pair_text(pair: tuple[str, str], *, shared: tuple[str, ...], matters: bool | None, asked: bool) -> str:
    reason = (
        f"agree in all that is recorded for both ({', '.join(shared)})"
        if shared
        else "have nothing left to measure that is recorded for both"
    )
    text = f"'{pair[0]}' and '{pair[1]}' can't be told apart by what is recorded: they {reason}."
    if not asked:
        return text
    if matters is None:
        return f"{text} Whether they need different parts here is not known."
    if matters:
        return f"{text} It matters: they need different parts here. Measure the part itself."
    return f"{text} It does not matter for this part: both need the same."


def _needs_differ(engines: Sequence[str], needs: Needs | None) -> bool | None:
    """Whether the engines ask for different things; None when nothing was asked or too little is known."""
    if needs is None or not engines:
        return None
    quantities = {quantity for engine in engines for quantity in needs.get(engine, {})}
    complete = bool(quantities)
    for quantity in quantities:
        values = [needs.get(engine, {}).get(quantity) for engine in engines]
        known = [value for value in values if value is not None]
        if any(not _same_need(known[0], value) for value in known[1:]):
            return True
        complete = complete and len(known) == len(values)
    return False if complete else None


def _same_need(first: Value, second: Value) -> bool:
    if isinstance(first, str) or isinstance(second, str):
        return _clean(first) == _clean(second)
    return abs(first - second) <= EQUAL


def _notes(
    candidates: Sequence[Candidate], asked: Mapping[str, Value], left: Mapping[str, Recorded]
) -> Iterator[str]:
    recorded: set[str] = set()
    in_words: set[str] = set()
    for feature in chain.from_iterable(candidate.features for candidate in candidates):
        quantity = parse_quantity(feature.quantity)
        recorded.add(quantity)
        if isinstance(feature.value, str):
            in_words.add(quantity)
    for quantity, value in asked.items():
        if quantity not in recorded:
            near = format_nearest(quantity, sorted(recorded))
            yield f"Nothing is recorded for '{quantity}', so this reading rules nothing out; {near}."
        elif isinstance(value, str) and quantity not in in_words:
            yield (
                f"'{value}' is not a number, and '{quantity}' is recorded in numbers, "
                "so this reading rules nothing out; write it as measured."
            )
    if candidates and not left:
        yield (
            "No engine agrees with every reading; check the readings one by one, "
            "or the machine has an engine that is not in the catalogue."
        )
