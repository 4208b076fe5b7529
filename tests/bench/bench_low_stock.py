"""How long the low-stock list takes for 100 000 stock articles with 36 months of demand; aim: 2 s on SQLite.

    python tests/bench/bench_low_stock.py [articles]

Made up: demand is negative binomial by a seeded generator, about half the months are empty; each article has
one offer; one in twenty is short; one in twenty has an equal. Demand months are written directly. Where the
package statsforecast is installed, its TSB forecast of a sample of the same series is timed in the same run:
a forecast alone, without reading, level, supplier and words.
"""

import gc
import random
import sqlite3
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from kb.database import open_database, open_reader
from kb.lookups.low_stock import LowStockQuestion, list_low_stock
from kb.migrate import upgrade_schema
from kb.terms import PartType

AS_OF = date(2026, 11, 20)
AIM_SECONDS = 2.0
SAMPLE = 2_000
MONTHS = range(2023 * 12 + 10, 2026 * 12 + 10)


def fill(path: Path, articles: int) -> int:
    chance = random.Random(11)
    types = [str(part_type) for part_type in PartType]
    engine = open_database(str(path))
    upgrade_schema(engine)
    engine.dispose()
    with sqlite3.connect(path) as db:
        db.execute("INSERT INTO maker (id, maker, maker_key) VALUES (1, 'Bench', 'BENCH')")
        db.execute("INSERT INTO location (id, location) VALUES (1, 'counter')")
        db.execute("INSERT INTO source (id, source, kind) VALUES (1, 'b', 'estimate')")
        db.executemany(
            "INSERT INTO supplier (id, supplier, lead_time_days, currency) VALUES (?, ?, ?, 'EUR')",
            [(n, f"s{n}", 2 + 3 * n) for n in range(1, 9)],
        )
        parts, levels, offers, months = [], [], [], []
        for part in range(1, articles + 1):
            rate = chance.choice((0.05, 0.2, 0.5, 1.0, 3.0))
            parts.append((part, f"B-{part}", f"B{part}", types[part % len(types)]))
            low = chance.random() < 0.05
            levels.append((part, 0 if low else int(3 + 4 * rate)))
            offers.append((part % 8 + 1, part, chance.randint(100, 5000)))
            for month in MONTHS:
                pieces = sum(chance.random() < rate / 4 for _ in range(4))
                if pieces:
                    months.append((part, month, pieces))
        db.executemany(
            "INSERT INTO part (id, maker_id, part_number, part_number_key, part_type) VALUES (?, 1, ?, ?, ?)",
            parts,
        )
        db.executemany(
            "INSERT INTO stock_level (location_id, part_id, on_hand, committed) VALUES (1, ?, ?, 0)", levels
        )
        db.executemany(
            "INSERT INTO offer (supplier_id, part_id, price_minor, currency, pack_size, minimum_quantity,"
            " seen_on) VALUES (?, ?, ?, 'EUR', 1, 1, '2026-10-01')",
            offers,
        )
        db.executemany(
            "INSERT INTO demand_month (location_id, part_id, month, pieces) VALUES (1, ?, ?, ?)", months
        )
        db.execute(
            "INSERT INTO demand_type_month (part_type, month, pieces) SELECT part_type, month, sum(pieces) "
            "FROM demand_month JOIN part ON part.id = part_id GROUP BY 1, 2"
        )
        pairs = [(part, part + 1) for part in range(1, articles, 40)]
        db.executemany(
            "INSERT INTO replacement (part_id, by_part_id, kind, source_id) VALUES (?, ?, 'same_size', 1)",
            pairs,
        )
        db.execute("ANALYZE")
    return len(months)


def measure_peer(path: Path) -> str:
    """Processor time of another package's forecast for each series of a sample."""
    try:
        import numpy as np
        from statsforecast.models import TSB
    except ImportError:
        return "statsforecast is not installed: no forecast of another package to compare with"
    series: dict[int, list[float]] = {}
    with sqlite3.connect(path) as db:
        question = "SELECT part_id, month, pieces FROM demand_month WHERE part_id <= ?"
        for part, month, pieces in db.execute(question, (SAMPLE,)):
            series.setdefault(part, [0.0] * len(MONTHS))[month - MONTHS.start] = pieces
    arrays = [np.asarray(pieces) for pieces in series.values()]
    model = TSB(alpha_d=0.1, alpha_p=0.1)
    model.forecast(arrays[0], 1)  # compiles
    start = time.process_time()
    for array in arrays:
        model.forecast(array, 1)
    micros = (time.process_time() - start) / len(arrays) * 1e6
    return f"statsforecast's TSB, a forecast alone: {micros:.0f} us for each of {len(arrays)} series"


def main() -> None:
    gc.set_threshold(100_000, 20, 20)  # as the command line sets it
    articles = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.db"
        rows = fill(path, articles)
        engine = open_database(str(path))
        for location in ("counter", None, "counter"):
            start, start_cpu = time.perf_counter(), time.process_time()
            with open_reader(engine) as session:
                answer = list_low_stock(session, LowStockQuestion(AS_OF, location))
            seconds, cpu = time.perf_counter() - start, time.process_time() - start_cpu
            where = location or "all places"
            took = f"{seconds:.2f} s, {cpu:.2f} s of the processor"
            print(f"{articles} articles, {rows} months, {where}: {took}; {len(answer.order)} to order")
            aim = "met" if seconds <= AIM_SECONDS else "MISSED"
            print(f"  {cpu / articles * 1e6:.1f} us for each article; aim {AIM_SECONDS} s {aim}")
        engine.dispose()
        print(measure_peer(path))


if __name__ == "__main__":
    main()
