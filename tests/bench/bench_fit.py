"""How long the fit question takes on a large catalogue. Run by hand: ``python tests/bench/bench_fit.py``.

100 000 belts (seeded; many makers make the same few sizes, as in real lists) are loaded into a SQLite file.
Measured in one run, on one machine:

- alternatives for one engine against a pass that gives a verdict on every belt, and that both find the same;
- one belt compared through the drive, and one verdict with all its words;
- ``counterhand fit`` from the start of the process to its answer.

Limits (medians): alternatives 20 ms, one comparison 100 µs, the command 0.6 s. Exit status 1 if one is
missed.
"""

import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from sqlmodel import Session

from importers.load import load_catalogue
from kb.database import open_database, open_reader, open_writer
from kb.lookups.alternatives import MOST_ALTERNATIVES, list_alternatives
from kb.lookups.candidates import find_candidates
from kb.lookups.engines import get_engine
from kb.lookups.fit import DEFAULT_LIMITS
from kb.lookups.parts import find_parts
from kb.lookups.places import get_place
from kb.lookups.shelf import find_on_hand, find_prices
from kb.migrate import upgrade_schema
from kb.rules.fit.rank import find_largest_change
from kb.rules.fit.values import Asked, BeltNeed, PartSize
from kb.rules.fit.verdict import PlaceJudge, build_verdict
from kb.tables.columns import get_table
from kb.terms import Position

BELTS = 100_000
SEED = 20260131
DRIVE = (
    "engine,centre_distance_mm,cord_depth_mm,drive_angle_deg,drive_outer_radius_mm,drive_boss_radius_mm,"
    "drive_gap_radius_mm,drive_gap_open_mm,drive_gap_closed_mm,driven_angle_deg,driven_outer_radius_mm,"
    "driven_boss_radius_mm,driven_gap_radius_mm,driven_gap_open_mm,driven_gap_closed_mm,source\n"
    "wren-50,260,2,28,48.5,14,48.5,28.85,17.75,28,59.5,22,59.5,29.7,15.25,bench\n"
)


def build_catalogue(folder: Path) -> None:
    """Belts of a few hundred sizes that many makers share, and some that nobody else has."""
    rng = random.Random(SEED)
    widths, angles = (15, 16.5, 17, 17.5, 18, 18.5, 20, 21, 22.5, 24), (28, 30)
    sizes = [(rng.randrange(600, 1001), rng.choice(widths), rng.choice(angles)) for _ in range(500)]
    sizes[7] = (788, 17, 28)
    weights = [1 / (place + 5) for place in range(len(sizes))]
    rows, stock, offers = [], [], []
    for number in range(BELTS):
        length, width, angle = rng.choices(sizes, weights)[0]
        if rng.random() < 0.1:  # another list rounds otherwise
            length, width = length + rng.choice((-1, 0, 1)), width + rng.choice((0.0, 0.2))
        thickness = rng.choice(("", "", "", "8", "8.5"))
        name = f"Maker{rng.randrange(60)},{number:06}"
        rows.append(f"{name},drive_belt,{length},outside,{width:g},{angle},{thickness},list")
        if rng.random() < 0.02:
            stock.append(f"shop,{name},{rng.randrange(1, 9)},2026-01-31")
        if rng.random() < 0.5:
            offers.append(f"mill,{name},{rng.randrange(600, 5000) / 100:.2f},EUR")
    files = {
        "sources": "source,kind,title\nlist,supplier,List\nbench,measured,Bench\n",
        "engines": "engine,family,name,source\nwren-50,wren,Wren 50,bench\n",
        "drives": DRIVE,
        "belt_needs": "engine,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,source\n"
        "wren-50,788,outside,17,28,8.5,bench\n",
        "parts": "maker,part_number,part_type,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,"
        "source\n" + "\n".join(rows),
        "stock": "location,maker,part_number,on_hand,counted_on\n" + "\n".join(stock),
        "suppliers": "supplier,name,currency\nmill,Mill,EUR\n",
        "offers": "supplier,maker,part_number,price,currency\n" + "\n".join(offers),
    }
    for name, content in files.items():
        (folder / f"{name}.csv").write_text(content + "\n", encoding="utf-8")


def time_it(question: Callable[[], object], repeats: int) -> float:
    """Median time of a call [s], after one that is not counted."""
    question()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        question()
        times.append(time.perf_counter() - start)
    return median(times)


def list_by_brute_force(session: Session) -> list[tuple[str, str]]:
    """The best fifty, by a verdict on every belt of the catalogue."""
    engine = get_engine(session, "wren-50")
    judge = PlaceJudge(get_place(session, engine, Position.DRIVE_BELT), DEFAULT_LIMITS)
    belts = find_parts(session, get_table("part").c.part_type == "drive_belt", limit=2 * BELTS)
    ids = [belt.id for belt in belts]
    on_hand, prices = find_on_hand(session, ids), find_prices(session, ids)
    ranked = []
    for belt in belts:
        verdict = judge.judge(Asked(belt.size, belt.ref), ())
        if verdict.outcome in ("fits", "fits_with_change"):
            pieces = sum(count for _, count in on_hand.get(belt.id, ()))
            price = prices[belt.id][0] if belt.id in prices else float("inf")
            change = abs(find_largest_change(verdict.consequences) or 0.0)
            name = (belt.ref.maker, belt.ref.part_number)
            ranked.append((verdict.outcome != "fits", change, -pieces, price, *name))
    return [(item[4], item[5]) for item in sorted(ranked)[:MOST_ALTERNATIVES]]


def list_quickly(session: Session) -> list[tuple[str, str]]:
    """The best fifty, by the look-up."""
    answer = list_alternatives(session, "wren-50", "drive_belt")
    return [(item.part.maker, item.part.part_number) for item in answer.alternatives]


def time_command(database: Path) -> float:
    """Median time of ``counterhand fit`` from start of the process to its answer [s]."""
    command = [sys.executable, "-c", "from api.cli import main; main()", "fit", "wren-50", "788-17-28"]

    def run() -> None:
        subprocess.run(
            [*command, "--db", str(database)],
            cwd=Path(__file__).parents[2],
            capture_output=True,
            check=True,
        )

    return time_it(run, 15)


def main() -> int:
    """Measure, print, and say by the exit status whether the limits hold."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        build_catalogue(folder)
        database = folder / "bench.db"
        engine = open_database(str(database))
        upgrade_schema(engine)
        with open_writer(engine) as session:
            report = load_catalogue(session, folder, now=datetime(2026, 1, 31, tzinfo=UTC))
        assert not report.has_problems, report.as_json()
        with open_reader(engine) as session:
            alternatives_s = time_it(lambda: list_quickly(session), 15)
            start = time.perf_counter()
            by_force = list_by_brute_force(session)
            force_s = time.perf_counter() - start
            is_same = by_force == list_quickly(session)
            place = get_place(session, get_engine(session, "wren-50"), Position.DRIVE_BELT)
            (need,) = place.needs
            assert isinstance(need, BeltNeed)
            sizes = find_candidates(session, Position.DRIVE_BELT, need, limits=DEFAULT_LIMITS)
        judge = PlaceJudge(place, DEFAULT_LIMITS).first
        assert judge is not None
        assert judge.belt is not None
        compare = judge.belt.compare
        compare_s = time_it(lambda: [compare(size) for size in sizes], 15) / len(sizes)
        asked = Asked(PartSize(length_mm=786.0, top_width_mm=17.0, angle_deg=28.0))
        verdict_s = time_it(lambda: build_verdict(place, asked, (), limits=DEFAULT_LIMITS), 200)
        engine.dispose()
        command_s = time_command(database)
    print(f"alternatives among {BELTS} belts: {alternatives_s * 1e3:.1f} ms (limit 20 ms)")
    print(f"  a verdict on every belt instead: {force_s:.1f} s; both find the same: {is_same}")
    print(f"  distinct sizes near the need: {len(sizes)}, parts {sum(map(len, sizes.values()))}")
    print(f"one belt compared through the drive: {compare_s * 1e6:.0f} µs (limit 100 µs)")
    print(f"one verdict in words: {verdict_s * 1e6:.0f} µs")
    print(f"counterhand fit, process start to answer: {command_s:.2f} s (limit 0.60 s)")
    return 0 if is_same and alternatives_s <= 0.020 and compare_s <= 100e-6 and command_s <= 0.6 else 1


if __name__ == "__main__":
    sys.exit(main())
