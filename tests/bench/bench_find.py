"""How fast parts are found in 10,000 to 1,000,000 of them, how large the index is, what a write costs.

Run from the root of the repository: ``python tests/bench/bench_find.py 10000 100000``; with
``--postgres URL`` (an empty database, its tables are dropped at the end) on PostgreSQL too. The yardstick is
``rapidfuzz.process.extract`` with ``WRatio`` over pre-processed strings of the same rows in the same process.
A look-up is the whole answer in an open session: reading the question, candidates, ranking, what is shown of
each row; the time with a session of its own is printed beside it.
"""

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

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
QUESTIONS = 400
NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)


def time_each(work: Callable[[str], Any], texts: list[str]) -> list[float]:
    """Milliseconds of each text."""
    times = []
    for question in texts:
        start = time.perf_counter()
        work(question)
        times.append((time.perf_counter() - start) * 1_000)
    return times


def measure_yardstick(rows: list[tuple[str, str, str, str]], questions: list[str]) -> float:
    """Median milliseconds of a plain fuzzy search over all rows."""
    strings = [default_process(f"{number} {maker} {words}") for maker, number, _, words in rows]
    asked = [default_process(question) for question in questions]
    return statistics.median(
        time_each(lambda question: extract(question, strings, scorer=WRatio, limit=10), asked)
    )


def fill(engine: Engine, count: int) -> None:
    """Load the rows as a catalogue folder, and time it."""
    upgrade_schema(engine)
    with tempfile.TemporaryDirectory() as folder:
        write_catalogue(Path(folder), count)
        start = time.perf_counter()
        with open_writer(engine) as session:
            report = load_catalogue(session, Path(folder), now=NOW)
        loaded = time.perf_counter() - start
    assert not report.has_problems, report.as_json()
    start, start_cpu = time.perf_counter(), time.process_time()
    with open_writer(engine) as session:
        rebuild_index(session.connection())
    built, built_cpu = time.perf_counter() - start, time.process_time() - start_cpu
    if engine.dialect.name == "postgresql":
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE"))
    print(f"  import of all rows with index {loaded:.1f} s, {loaded / count * 1e6:.0f} us a row")
    print(
        f"  index alone {built / count * 1e6:.0f} us a row (target 150), "
        f"of which {built_cpu / count * 1e6:.0f} us processor time of this process"
    )


def measure_size(engine: Engine, count: int) -> None:
    """Bytes of each part with all indexes, and of the look-up alone."""
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            (size,) = connection.execute(text("SELECT pg_database_size(current_database())")).one()
            print(f"  {size / count:.0f} bytes a part, whole database")
            return
        rows = connection.execute(text("SELECT name, sum(pgsize) FROM dbstat GROUP BY name")).all()
    sizes = dict(rows)
    look_up = sum(size for name, size in sizes.items() if "look_up" in name)
    part = sum(size for name, size in sizes.items() if "part" in name or "look_up" in name)
    print(
        f"  {look_up / count:.0f} bytes a part for the index, {part / count:.0f} with the part (target 350)"
    )


def measure_insert(engine: Engine) -> None:
    """Milliseconds of one more part with commit, index included."""
    times, processor = [], []
    for number in range(60):
        start, start_cpu = time.perf_counter(), time.process_time()
        with open_writer(engine) as session:
            add_one(session, number)
        times.append((time.perf_counter() - start) * 1_000)
        processor.append((time.process_time() - start_cpu) * 1_000)
    print(
        f"  one insert with commit {statistics.median(times):.2f} ms (target 3), worst {max(times):.2f} ms; "
        f"{statistics.median(processor):.2f} ms processor time of this process"
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


def measure_look_up(
    engine: Engine, questions: list[tuple[str, str]], *, yardstick_ms: float, count: int
) -> float:
    """Print the times of look-ups beside the yardstick; returns the median."""

    def ask(question: str) -> None:
        with open_reader(engine) as session:
            find_matches(session, question, 10)

    texts = [question for _, question in questions]
    ask("warm up")
    with open_reader(engine) as session:
        times = time_each(lambda question: find_matches(session, question, 10), texts)
    alone = statistics.median(time_each(ask, texts))
    median, p99 = statistics.median(times), sorted(times)[int(len(times) * 0.99)]
    least = LEAST_RATIO.get(count, 0) / (2 if engine.dialect.name == "postgresql" else 1)
    print(
        f"  look-up median {median:.2f} ms, p99 {p99:.1f} ms, worst {max(times):.1f} ms; "
        f"median with a session of its own {alone:.2f} ms"
    )
    print(
        f"  {yardstick_ms / median:.0f} times as fast as the yardstick (target {least:.0f}); "
        f"p99 is 1/{yardstick_ms / p99:.0f} of its median"
    )
    for kind in dict.fromkeys(kind for kind, _ in questions):
        of_kind = [ms for ms, (name, _) in zip(times, questions, strict=True) if name == kind]
        print(f"    {kind}: median {statistics.median(of_kind):.2f} ms, worst {max(of_kind):.1f} ms")
    return median


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="+", type=int)
    parser.add_argument("--postgres", metavar="URL")
    options = parser.parse_args()
    medians: dict[tuple[str, int], float] = {}
    for count in options.sizes:
        rows = list(make_parts(count))
        asked = make_questions(random.Random(3).sample(rows, QUESTIONS))
        yardstick_ms = measure_yardstick(
            rows, [question for _, question in asked[: 8 if count > 500_000 else 24]]
        )
        print(f"{count:,} parts; yardstick median {yardstick_ms:.0f} ms")
        with tempfile.TemporaryDirectory() as folder:
            urls = [str(Path(folder, "bench.db"))] + ([options.postgres] if options.postgres else [])
            for url in urls:
                engine = open_database(url)
                print(engine.dialect.name)
                fill(engine, count)
                measure_size(engine, count)
                medians[engine.dialect.name, count] = measure_look_up(
                    engine, asked, yardstick_ms=yardstick_ms, count=count
                )
                measure_insert(engine)
                if engine.dialect.name == "postgresql":
                    with engine.begin() as connection:
                        connection.execute(text("DROP SCHEMA public CASCADE"))
                        connection.execute(text("CREATE SCHEMA public"))
                engine.dispose()
    for name in dict.fromkeys(name for name, _ in medians):
        of_name = {count: median for (kind, count), median in medians.items() if kind == name}
        smallest, largest = min(of_name), max(of_name)
        if smallest != largest:
            growth = of_name[largest] / of_name[smallest]
            print(f"{name}: median at {largest:,} is {growth:.1f} times that at {smallest:,} (target 12)")


if __name__ == "__main__":
    main()
