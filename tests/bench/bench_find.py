"""How fast parts are found in 10,000 to 1,000,000 of them, how large the index is, what a write costs.

Run from the root of the repository: ``python tests/bench/bench_find.py 10000 100000``; with
``--postgres URL`` (an empty database, its tables are dropped at the end) on PostgreSQL too. The yardstick is
``rapidfuzz.process.extract`` with ``WRatio`` over pre-processed strings of the same rows in the same process.
A look-up is the whole answer in an open session: reading the question, candidates, ranking, what is shown of
each row; the time with a session of its own is printed beside it. Each question is asked for the first time,
and questions to the yardstick stand between them, so that both meet the same load; processor time is printed
too, for a machine that has other work. The table at the end has each target and whether it is met. How well
parts are found is printed by ``bench_find_quality.py``.
"""

import argparse
import random
import statistics
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from figures import Figure, empty_postgres, print_figures
from generated_parts import make_parts, make_questions, write_catalogue
from rapidfuzz.fuzz import WRatio
from rapidfuzz.process import extract
from rapidfuzz.utils import default_process
from sqlalchemy import Engine, text

from importers.load import load_catalogue
from kb.database import open_database, open_reader, open_writer
from kb.edits.look_up_index import LookUpIndex, rebuild_index
from kb.lookups.search.find import find_matches
from kb.migrate import upgrade_schema

LEAST_RATIO = {10_000: 100, 100_000: 400, 1_000_000: 1_500}
"""How many times as fast as the yardstick a look-up on SQLite must be; on PostgreSQL half of it is enough."""
LEAST_P99_RATIO = {10_000: 10, 100_000: 30, 1_000_000: 200}
MOST_BYTES = 350
MOST_INDEX_US = 150
MOST_INSERT_MS = 3
MOST_GROWTH = 12
QUESTIONS = 400
WORDED = ("wording", "misspelt", "other order")
NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)


class Yardstick:
    """A plain fuzzy search over all rows, in memory and with strings prepared.

    Args:
        rows: maker, number, part type and description of each part.
    """

    def __init__(self, rows: list[tuple[str, str, str, str]]) -> None:
        self._strings = [default_process(f"{number} {maker} {words}") for maker, number, _, words in rows]
        self.step = 51 if len(rows) > 500_000 else 17
        """Of so many questions one is put to the yardstick too; no multiple of the number of kinds."""

    def time(self, question: str) -> tuple[float, float]:
        """Milliseconds of one question, by the clock and of this process."""
        asked = default_process(question)
        return time_once(lambda: extract(asked, self._strings, scorer=WRatio, limit=10))


@dataclass(slots=True)
class Times:
    """Milliseconds of each question of one kind or of all, ours and the yardstick's."""

    ours: list[float] = field(default_factory=list)
    yardstick: list[float] = field(default_factory=list)

    @property
    def ratio(self) -> float:
        """How many times as fast as the yardstick we are in the median."""
        return statistics.median(self.yardstick) / statistics.median(self.ours)


def p99_of(times: list[float]) -> float:
    """The time that one in a hundred exceeds."""
    return sorted(times)[int(len(times) * 0.99)]


def time_once(work: Callable[[], Any]) -> tuple[float, float]:
    """Milliseconds by the clock, and of this process."""
    start, start_cpu = time.perf_counter(), time.process_time()
    work()
    return (time.perf_counter() - start) * 1_000, (time.process_time() - start_cpu) * 1_000


class Bench:
    """Figures of one database of one size.

    Args:
        engine: the empty database.
        count: parts in it.
    """

    def __init__(self, engine: Engine, count: int) -> None:
        self.engine = engine
        self.count = count
        self.is_postgres = engine.dialect.name == "postgresql"
        self.where = f"{count:,} parts, {NAMES[engine.dialect.name]}"
        self.figures: list[Figure] = []
        self.median_ms = 0.0

    def add(self, name: str, value: str, target: str = "", is_met: bool | None = None) -> None:
        """Keep one figure for the table."""
        self.figures.append(Figure(self.where, name, value, target, is_met))

    def measure_fill(self) -> None:
        """Time the import of all rows, and the index built anew."""
        fill(self.engine, self.count, report=self.add)

    def measure_size(self) -> None:
        """Bytes of each part with all indexes, and of the look-up alone."""
        with self.engine.connect() as connection:
            if self.is_postgres:
                (size,) = connection.execute(text("SELECT pg_database_size(current_database())")).one()
                self.add("bytes a part, whole database", f"{size / self.count:.0f}")
                return
            rows = connection.execute(text("SELECT name, sum(pgsize) FROM dbstat GROUP BY name")).all()
        sizes = dict(rows)
        look_up = sum(size for name, size in sizes.items() if "look_up" in name) / self.count
        part = sum(size for name, size in sizes.items() if "part" in name or "look_up" in name) / self.count
        self.add("bytes a part with indexes", f"{part:.0f}", f"{MOST_BYTES}", part <= MOST_BYTES)
        self.add("  of which the look-up", f"{look_up:.0f}")

    def measure_insert(self) -> None:
        """Milliseconds of one more part with commit, index included."""
        times, processor = [], []
        for number in range(60):
            start, start_cpu = time.perf_counter(), time.process_time()
            with open_writer(self.engine) as session:
                add_one(session, number)
            times.append((time.perf_counter() - start) * 1_000)
            processor.append((time.process_time() - start_cpu) * 1_000)
        median, worst = statistics.median(times), max(times)
        self.add(
            "one insert with commit",
            f"{median:.2f} ms, worst {worst:.2f}",
            f"{MOST_INSERT_MS} ms",
            median <= MOST_INSERT_MS,
        )
        self.add("  of which this process computes", f"{statistics.median(processor):.2f} ms")

    def measure_look_up(self, questions: list[tuple[str, str]], yardstick: Yardstick) -> None:
        """Times of look-ups beside the yardstick."""
        times: dict[str, Times] = defaultdict(Times)
        with open_reader(self.engine) as session:
            find_matches(session, "warm up", 10)
            for at, (kind, question) in enumerate(questions):
                names = ("all", kind, *(["worded"] if kind in WORDED else []))
                wall, processor = time_once(partial(find_matches, session, question, 10))
                times["processor"].ours.append(processor)
                for name in names:
                    times[name].ours.append(wall)
                if at % yardstick.step == 0:
                    wall, processor = yardstick.time(question)
                    times["processor"].yardstick.append(processor)
                    for name in names:
                        times[name].yardstick.append(wall)
        self.median_ms = statistics.median(times["all"].ours)
        alone = statistics.median(self._time_session(question) for _, question in questions)
        self._report_look_up(times, alone)

    def _time_session(self, question: str) -> float:
        start = time.perf_counter()
        with open_reader(self.engine) as session:
            find_matches(session, question, 10)
        return (time.perf_counter() - start) * 1_000

    def _report_look_up(self, times: dict[str, Times], alone: float) -> None:
        every, worded, processor = (times.pop(name) for name in ("all", "worded", "processor"))
        p99 = p99_of(every.ours)
        yardstick_ms = statistics.median(every.yardstick)
        half = 2 if self.is_postgres else 1
        least = LEAST_RATIO.get(self.count, 0) / half
        least_p99 = LEAST_P99_RATIO.get(self.count, 0) / half
        self.add(
            "yardstick, median", f"{yardstick_ms:.0f} ms, worded {statistics.median(worded.yardstick):.0f}"
        )
        self.add("look-up, median", f"{self.median_ms:.2f} ms, with a session of its own {alone:.2f}")
        for name, ratio, wanted in (
            ("times as fast as the yardstick", every.ratio, least),
            ("  worded questions alone", worded.ratio, least),
            ("yardstick's median / our p99", yardstick_ms / p99, least_p99),
        ):
            is_met = ratio >= wanted if wanted else None
            self.add(name, f"{ratio:.0f}", f"{wanted:.0f}" if wanted else "", is_met)
        if not self.is_postgres:  # the server's share is not in this process
            cpu_p99 = statistics.median(processor.yardstick) / p99_of(processor.ours)
            self.add(
                "  by processor time", f"{processor.ratio:.0f} times; its median / our p99 {cpu_p99:.0f}"
            )
        self.add("  p99", f"{p99:.1f} ms, worst {max(every.ours):.1f}")
        for kind, of_kind in times.items():
            ours = f"median {statistics.median(of_kind.ours):.2f} ms, worst {max(of_kind.ours):.1f}"
            self.add(f"  {kind}", f"{ours}; {of_kind.ratio:.0f} times as fast")


def fill(engine: Engine, count: int, *, report: Callable[..., None] | None = None) -> None:
    """Load the rows as a catalogue folder, and build the index anew."""
    upgrade_schema(engine)
    with tempfile.TemporaryDirectory() as folder:
        write_catalogue(Path(folder), count)
        start = time.perf_counter()
        with open_writer(engine) as session:
            loaded = load_catalogue(session, Path(folder), now=NOW)
        load_s = time.perf_counter() - start
    assert not loaded.has_problems, loaded.as_json()
    start, start_cpu = time.perf_counter(), time.process_time()
    with open_writer(engine) as session:
        rebuild_index(session.connection())
    built_us, cpu_us = (
        (now - then) / count * 1e6
        for now, then in ((time.perf_counter(), start), (time.process_time(), start_cpu))
    )
    if engine.dialect.name == "postgresql":
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE"))
    if report is None:
        return
    report("import of all rows, a row", f"{load_s / count * 1e6:.0f} us")
    report(
        "index alone, a row",
        f"{built_us:.0f} us, {cpu_us:.0f} in this process",
        f"{MOST_INDEX_US} us",
        built_us <= MOST_INDEX_US,
    )


def add_one(session: Any, number: int) -> None:
    """One part with its record and its entries."""
    connection = session.connection()
    maker_id = connection.execute(text("SELECT min(id) FROM maker")).scalar_one()
    source_id = connection.execute(text("SELECT min(id) FROM source")).scalar_one()
    part_id = connection.execute(
        text(
            "INSERT INTO part (maker_id, part_number, part_number_key, part_type) "
            "VALUES (:maker, :number, :key, 'drive_belt') RETURNING id"
        ),
        {"maker": maker_id, "number": f"YY-{number:05d}55", "key": f"YY{number:05d}55"},
    ).scalar_one()
    connection.execute(
        text("INSERT INTO part_record (part_id, source_id, description) VALUES (:part, :source, :words)"),
        {"part": part_id, "source": source_id, "words": f"drive belt {700 + number}x18x30"},
    )
    index = LookUpIndex(connection)
    index.add_parts([part_id])
    index.finish()


def run(count: int, postgres: str | None) -> list[Bench]:
    """Measure both databases with so many parts."""
    rows = list(make_parts(count))
    asked = make_questions(random.Random(3).sample(rows, QUESTIONS))
    yardstick = Yardstick(rows)
    print(f"{count:,} parts", flush=True)
    benches = []
    with tempfile.TemporaryDirectory() as folder:
        for url in [str(Path(folder, "bench.db")), *([postgres] if postgres else [])]:
            engine = open_database(url)
            bench = Bench(engine, count)
            bench.measure_fill()
            bench.measure_size()
            bench.measure_look_up(asked, yardstick)
            bench.measure_insert()
            benches.append(bench)
            if bench.is_postgres:
                empty_postgres(engine)
            engine.dispose()
    return benches


def list_growth(benches: list[Bench]) -> list[Figure]:
    """How much slower the largest size is than the smallest."""
    figures = []
    for is_postgres, name in ((False, "SQLite"), (True, "PostgreSQL")):
        of_name = {bench.count: bench.median_ms for bench in benches if bench.is_postgres is is_postgres}
        if len(of_name) > 1:
            smallest, largest = min(of_name), max(of_name)
            growth = of_name[largest] / of_name[smallest]
            target = str(MOST_GROWTH) if (smallest, largest) == (10_000, 1_000_000) else ""
            figures.append(
                Figure(
                    f"{smallest:,} to {largest:,}, {name}",
                    "median grows",
                    f"{growth:.1f} times",
                    target,
                    growth <= MOST_GROWTH if target else None,
                )
            )
    return figures


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="+", type=int)
    parser.add_argument("--postgres", metavar="URL")
    options = parser.parse_args()
    benches = [bench for count in options.sizes for bench in run(count, options.postgres)]
    figures = [figure for bench in benches for figure in bench.figures]
    print_figures([*figures, *list_growth(benches)])


if __name__ == "__main__":
    main()
