"""How long telling 2,000 engines apart takes, beside a plain search that compares every pair.

Run from the root: ``PYTHONPATH=. python tests/bench/bench_tell_apart.py``. Both answer the same
question in the same run: how many engines each measurement is expected to leave. The plain search counts by
comparing each engine with each other; its counts are checked against ours.
"""

import random
import statistics
import time

from kb.rules.feature import Candidate, FeatureValue, cannot_split
from kb.rules.tell_apart import compare_engines

ENGINES = 2000
FEATURES = 12
WORD_COUNT = 2
ROUNDS = 7
TARGET_MS = 100.0
SPREADS = (
    (300, 500),
    (10, 14),
    (16, 24),
    (30, 60),
    (600, 900),
    (13, 20),
    (40, 70),
    (8, 12),
    (100, 260),
    (3, 9),
)
WORDS = ("air", "forced air", "water")


def make_candidates(seed: int) -> list[Candidate]:
    """Invented engines: ten numbers of several spreads, two words, a tenth unknown, some with two values."""
    chance = random.Random(seed)
    return [Candidate(f"engine-{number}", tuple(_features(chance))) for number in range(ENGINES)]


def _features(chance: random.Random) -> list[FeatureValue]:
    rows: list[FeatureValue] = []
    for number, (low, high) in enumerate(SPREADS):
        if chance.random() < 0.1:
            continue
        for _ in range(2 if chance.random() < 0.05 else 1):
            value = round(chance.uniform(low, high), 1)
            rows.append(FeatureValue(f"length_{number}", value, unit="mm", source="bench"))
    rows.extend(FeatureValue(f"word_{number}", chance.choice(WORDS)) for number in range(WORD_COUNT))
    return rows


def search_plainly(candidates: list[Candidate]) -> dict[str, float]:
    """The number of engines that each measurement is expected to leave, by comparing every pair."""
    tables = {
        candidate.engine: {
            name: [feature for feature in candidate.features if feature.quantity == name]
            for name in {feature.quantity for feature in candidate.features}
        }
        for candidate in candidates
    }
    expected: dict[str, float] = {}
    for name in sorted({name for table in tables.values() for name in table}):
        known = [table[name] for table in tables.values() if name in table]
        overlaps = sum(
            sum(any(cannot_split(value, other) for other in others) for value in values for others in known)
            / len(values)
            for values in known
        )
        expected[name] = len(tables) - len(known) + overlaps / len(known)
    return expected


def measure_ms(candidates: list[Candidate], readings: dict[str, float | str]) -> list[float]:
    """Milliseconds of processor time of each round; other work on the machine counts little."""
    times: list[float] = []
    for _ in range(ROUNDS):
        start = time.process_time()
        compare_engines(candidates, readings)
        times.append((time.process_time() - start) * 1000.0)
    return times


def main() -> None:
    """Print our time with no reading and with one, and both on a tenth of the engines."""
    candidates = make_candidates(seed=1)
    for readings in ({}, {"word_0": "water"}):
        times = measure_ms(candidates, readings)
        print(
            f"compare_engines, {ENGINES} engines x {FEATURES} features, readings {readings}: "
            f"median {statistics.median(times):.1f} ms, worst {max(times):.1f} ms of processor time "
            f"(target {TARGET_MS:.0f} ms)"
        )
    some = candidates[: ENGINES // 10]
    answer = compare_engines(some, {}, next_limit=FEATURES)
    start = time.process_time()
    expected = search_plainly(some)
    plain_ms = (time.process_time() - start) * 1000.0
    ours_ms = statistics.median(measure_ms(some, {}))
    for measurement in answer.measure_next:
        assert abs(measurement.expected_remaining - expected[measurement.quantity]) < 1e-6
    print(
        f"{len(some)} engines: compare_engines {ours_ms:.1f} ms, plain search {plain_ms:.0f} ms, "
        f"the same {len(answer.measure_next)} counts"
    )


if __name__ == "__main__":
    main()
