"""How long look-ups take while a price list is imported, against the same look-ups in quiet.

Run from the root of the repository: ``python tests/bench/bench_import_serving.py [ROWS]``. A second process
asks without pause, first while nothing else is done, then during the import of a CSV file and of a workbook;
wall-clock time, since waiting is what a person feels. COUNTERHAND_PG names a PostgreSQL database that may be
filled, to be asked instead of a SQLite file.

Target: the slowest hundredth of look-ups takes at most 3 times as long as in quiet.
"""

import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import openpyxl
from bench_import import HEADING, PARTS, fill_catalogue, list_rows, load, write_list

from kb.database import open_database, open_reader
from kb.lookups.search.find import find_matches

QUIET_SECONDS = 5.0
FIRST_LOOK_UPS = 20
TARGET = 3.0


def ask_until_told(address: str) -> None:
    """Ask one question after the other until standard input ends; tell the times [ms] as JSON."""
    engine, chance = open_database(address), random.Random(7)
    is_told = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), is_told.set()), daemon=True).start()
    times: list[float] = []
    count = 0
    while not is_told.is_set():
        number = chance.randrange(PARTS)
        text = chance.choice((f"P-{number:06d}", f"maker{number % 50} p {number:06d}", f"p{number:06d}"))
        start = time.perf_counter()
        with open_reader(engine) as session:
            assert find_matches(session, text).results, text
        count += 1
        if count > FIRST_LOOK_UPS:
            times.append((time.perf_counter() - start) * 1000)
        elif count == FIRST_LOOK_UPS:
            print("ready", flush=True)
    engine.dispose()
    print(json.dumps(times))


class Asker:
    """The second process, for as long as a block lasts."""

    def __init__(self, address: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__, "--ask", address],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )

        assert self._process.stdout is not None
        self._process.stdout.readline()  # the first ones are done

    def stop(self) -> list[float]:
        """Times of the look-ups [ms], sorted, without the first ones, which read what is kept."""
        told, _ = self._process.communicate()
        return sorted(json.loads(told))


def find_slowest(times: list[float]) -> float:
    """Time that 99 of 100 do not exceed [ms]."""
    return times[int(len(times) * 0.99)]


def write_workbook(path: Path, rows: int) -> None:
    """The same list as a workbook."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Prices")
    sheet.append(HEADING)
    for number, row in enumerate(list_rows(rows)):
        sheet.append([*row[:2], f"X{number}", float(row[3].replace(",", ".")), *row[4:]])
    book.save(path)


def main() -> None:
    """All of it; with ``--ask ADDRESS``, the second process."""
    if sys.argv[1:2] == ["--ask"]:
        ask_until_told(sys.argv[2])
        return
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 300_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        address = os.environ.get("COUNTERHAND_PG") or str(folder / "bench.db")
        engine = open_database(address)
        fill_catalogue(engine, folder / "catalogue")
        write_list(folder / "prices.csv", rows)
        write_workbook(folder / "prices.xlsx", rows // 3)
        asker = Asker(address)
        time.sleep(QUIET_SECONDS)
        quiet = asker.stop()
        print(f"quiet: {len(quiet)} look-ups, half within {quiet[len(quiet) // 2]:.1f} ms, "
              f"99 of 100 within {find_slowest(quiet):.1f} ms")  # fmt: skip
        for path in (folder / "prices.csv", folder / "prices.xlsx"):
            asker = Asker(address)
            load(engine, path)
            times = asker.stop()
            ratio = find_slowest(times) / find_slowest(quiet)
            print(
                f"during the import of {path.name}: {len(times)} look-ups, half within "
                f"{times[len(times) // 2]:.1f} ms, 99 of 100 within {find_slowest(times):.1f} ms: "
                f"{ratio:.1f} times (target {TARGET:.0f})"
            )
        engine.dispose()


if __name__ == "__main__":
    main()
