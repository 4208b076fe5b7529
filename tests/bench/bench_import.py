"""How fast price lists are imported, against the bare work of the driver and of the workbook reader.

Run from the root of the repository: ``python tests/bench/bench_import.py [ROWS [WORKBOOK_ROWS]]``. All ratios
are of processor time, so that other work on the machine counts little; wall-clock time is printed beside it.
The workbook is read by a process apart, whose processor time is added; on idle cores both work at once, and
wall-clock time is what the target speaks of.
COUNTERHAND_PG names a PostgreSQL database that may be filled, for the ratio to COPY.

Targets: rows into SQLite at 0.30 of bare ``executemany``, at most 200 MB of further memory; a workbook in at
most 3 times the time of a bare read; PostgreSQL at 0.5 of bare COPY. The supplier's next list, of which a
quarter has new prices, is printed beside the first one without a target.
"""

import csv
import gc
import os
import resource
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

import openpyxl
from python_calamine import CalamineWorkbook
from sqlalchemy import Engine, text

from importers.load import load_catalogue
from importers.mapping import build_mapping
from importers.sheet_file import SheetFile, load_file
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

PARTS = 20_000
ROUNDS = 5
OFFER_COLUMNS = (
    "supplier_id, part_id, supplier_sku, price_minor, currency, pack_size, minimum_quantity, lead_time_days, "
    "seen_on, batch_id"
)
HEADING = ("Hersteller", "Artikelnummer", "Bestellnummer", "Preis", "VPE", "ab Menge", "Lieferzeit")


def list_rows(count: int) -> Any:
    """Rows of an invented price list with decimal commas."""
    for number in range(count):
        part = number % PARTS
        price = f"{number * 37 % 90000 / 100:.2f}".replace(".", ",")
        yield (f"Maker{part % 50}", f"P-{part:06d}", f"A{number:07d}", price, 1, 1 + number // PARTS, 3)


def write_list(path: Path, count: int, *, new_prices: bool = False) -> None:
    """Write the list as CSV; with another price in every fourth row when asked."""
    with path.open("w", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(HEADING)
        for place, row in enumerate(list_rows(count)):
            writer.writerow((*row[:3], "999,99", *row[4:]) if new_prices and place % 4 == 0 else row)


def fill_catalogue(engine: Engine, folder: Path) -> None:
    """Parts and a supplier for the list to refer to."""
    folder.mkdir(exist_ok=True)
    with (folder / "parts.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["maker", "part_number", "part_type"])
        writer.writerows([f"Maker{part % 50}", f"P-{part:06d}", "other"] for part in range(PARTS))
    (folder / "suppliers.csv").write_text("supplier,currency\nalder,EUR\n")
    upgrade_schema(engine)
    with open_writer(engine) as session:
        assert not load_catalogue(session, folder, now=datetime.now(UTC)).has_problems


def read_processor_time() -> float:
    """Processor time of this process and of its children that have ended [s]."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def measure(work: Callable[[], object]) -> tuple[float, float, float]:
    """Processor time with that of children [s], wall-clock time [s], growth of the peak of memory [MB]."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    wall, processor = time.perf_counter(), read_processor_time()
    work()
    processor, wall = read_processor_time() - processor, time.perf_counter() - wall
    return processor, wall, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024


def load(engine: Engine, path: Path) -> None:
    """Import the list as offers."""
    mapping = build_mapping({"kind": "offers", "values": {"supplier": "alder"}})
    with open_writer(engine) as session:
        report = load_file(session, SheetFile(path, path.name, mapping), now=datetime.now(UTC))
    assert not report.has_problems, report.files[0].problems[:3]


def bench_sqlite(folder: Path, rows: int) -> None:
    """CSV into SQLite against bare executemany of the same rows."""
    engine = open_database(str(folder / "bench.db"))
    fill_catalogue(engine, folder / "catalogue")
    path = folder / "prices.csv"
    write_list(path, rows)
    ours = measure(lambda: load(engine, path))
    engine.dispose()
    connection = sqlite3.connect(folder / "bench.db", isolation_level=None)
    for pragma in ("foreign_keys=ON", "cache_size=-65536", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
    stored = connection.execute(f"SELECT {OFFER_COLUMNS} FROM offer ORDER BY id").fetchall()
    connection.execute("DELETE FROM offer")
    marks = ", ".join("?" * 10)

    def insert() -> None:
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany(f"INSERT INTO offer ({OFFER_COLUMNS}) VALUES ({marks})", stored)
        connection.execute("COMMIT")

    bare = measure(insert)
    print(f"SQLite, {rows} rows: {rows / ours[1]:.0f} rows/s, {ours[2]:.0f} MB further (target 200)")
    print(
        f"  of bare executemany: {bare[0] / ours[0]:.2f} processor, {bare[1] / ours[1]:.2f} wall "
        "(target 0.30)"
    )


def bench_next_list(folder: Path, rows: int) -> None:
    """The same list again, and one with new prices in every fourth row, against the first one."""
    engine = open_database(str(folder / "next.db"))
    fill_catalogue(engine, folder / "catalogue")
    first, following = folder / "first.csv", folder / "next.csv"
    write_list(first, rows)
    write_list(following, rows, new_prices=True)
    times = [measure(lambda path=path: load(engine, path)) for path in (first, first, following)]
    engine.dispose()
    again, changed = (times[place][0] / times[0][0] for place in (1, 2))
    print(
        f"SQLite, the list again, {rows} rows: {again:.1f} times the processor time of the first; "
        f"with every fourth price new: {changed:.1f} times"
    )


def bench_workbook(folder: Path, rows: int) -> None:
    """XLSX against a bare read, in turn, so that both meet the same load of the machine."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Prices")
    sheet.append(HEADING)
    for row in list_rows(rows):
        sheet.append([*row[:3], float(row[3].replace(",", ".")), *row[4:]])
    path = folder / "prices.xlsx"
    book.save(path)
    bare, ours = [], []
    for round_number in range(ROUNDS):
        bare.append(measure(lambda: CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()))
        engine = open_database(str(folder / f"workbook{round_number}.db"))
        fill_catalogue(engine, folder / "catalogue")
        ours.append(measure(lambda engine=engine: load(engine, path)))
        engine.dispose()
    (bare_cpu, bare_wall), (our_cpu, our_wall) = (
        [median(times[kind] for times in runs) for kind in (0, 1)] for runs in (bare, ours)
    )
    least = [min(times[1] for times in runs) for runs in (bare, ours)]
    print(
        f"XLSX, {rows} rows, medians of {ROUNDS}: {our_wall:.2f} s, a bare read {bare_wall:.2f} s: "
        f"{our_wall / bare_wall:.1f} times (target 3), least against least {least[1] / least[0]:.1f}; "
        f"processor of both processes {our_cpu / bare_cpu:.1f} times"
    )


def bench_postgres(folder: Path, rows: int, address: str) -> None:
    """CSV into PostgreSQL against bare COPY of the same rows."""
    engine = open_database(address)
    fill_catalogue(engine, folder / "catalogue")
    ours = measure(lambda: load(engine, folder / "prices.csv"))
    with engine.connect() as connection:
        stored = [tuple(row) for row in connection.execute(text(f"SELECT {OFFER_COLUMNS} FROM offer"))]
        connection.execute(text("DELETE FROM offer"))

        def copy() -> None:
            driver: Any = connection.connection.driver_connection
            with driver.cursor() as cursor, cursor.copy(f"COPY offer ({OFFER_COLUMNS}) FROM STDIN") as target:
                for row in stored:
                    target.write_row(row)

        bare = measure(copy)
        connection.rollback()
    engine.dispose()
    print(
        f"PostgreSQL, {rows} rows: {rows / ours[1]:.0f} rows/s, {bare[1] / ours[1]:.2f} of bare COPY "
        "(target 0.5)"
    )


def main() -> None:
    """All of it."""
    gc.set_threshold(100_000, 20, 20)  # as the command line does
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    workbook_rows = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bench_sqlite(folder, rows)
        bench_next_list(folder, workbook_rows)
        bench_workbook(folder, workbook_rows)
        if os.environ.get("COUNTERHAND_PG"):
            bench_postgres(folder, rows, os.environ["COUNTERHAND_PG"])


if __name__ == "__main__":
    main()
