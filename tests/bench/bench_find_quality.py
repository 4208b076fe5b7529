"""How well parts are found: first answers right, rows recalled, how far "sure" can be trusted.

Run from the root of the repository: ``python tests/bench/bench_find_quality.py``; with ``--postgres URL``
(an empty database, its tables are dropped at the end) on PostgreSQL too. The questions are those of the
tests: 153 with known answers on 400 rows, and the generated ones on 4,000 rows. Only the words that the
program ships are known.
"""

import argparse
import csv
import importlib.util
import random
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from figures import Figure, empty_postgres, print_figures

from importers.load import load_catalogue
from kb.database import open_database, open_reader, open_writer
from kb.lookups.search.find import find_matches
from kb.migrate import upgrade_schema
from kb.terms import Certainty

DATA = Path(__file__).parents[1] / "kb" / "rules" / "match"
NOW = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)

Part = tuple[str, str, str]
Asked = tuple[str, str, frozenset[str]]
"""Kind and text of a question, and the numbers of the parts that are right answers."""


def read_known() -> tuple[list[Part], list[Asked]]:
    """The 400 rows and 153 questions."""
    with (DATA / "lookup_catalogue.csv").open(encoding="utf-8", newline="") as file:
        parts = [(row["maker"], row["part_no"], row["description"]) for row in csv.DictReader(file)]
    with (DATA / "lookup_queries.csv").open(encoding="utf-8", newline="") as file:
        asked = [
            (row["kind"], row["query"], frozenset(filter(None, row["expected_part_nos"].split("|"))))
            for row in csv.DictReader(file)
        ]
    return parts, asked


def make_generated() -> tuple[list[Part], list[Asked]]:
    """The generated rows and questions of the tests."""
    spec = importlib.util.spec_from_file_location("generated_look_up", DATA / "test_generated_quality.py")
    assert spec is not None
    assert spec.loader is not None
    module: Any = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    chance = random.Random(module.SEED)
    rows = module.make_catalogue(chance)
    asked = module.Asker(chance, rows).ask_all()
    return (
        [(row.maker, row.part_number, row.text) for row in rows],
        [(one.kind, one.text, frozenset(one.right)) for one in asked],
    )


@dataclass(slots=True)
class Tally:
    """Answers counted: first ones by kind, shares recalled, sure ones, and those where nothing is right."""

    kinds: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    recalls: list[float] = field(default_factory=list)
    sure: list[bool] = field(default_factory=list)
    nothing: list[Certainty] = field(default_factory=list)

    def add(self, kind: str, right: frozenset[str], results: Iterable[Any]) -> None:
        """Count one answer."""
        shown = list(results)
        first = shown[0].certainty if shown else Certainty.UNSURE
        is_right = bool(shown) and shown[0].row.part_number in right
        if first is Certainty.SURE:
            self.sure.append(is_right)
        if not right:
            self.nothing.append(first)
            return
        self.kinds[kind].append(is_right)
        found = {one.row.part_number for one in shown}
        self.recalls.append(len(right & found) / min(10, len(right)))


def list_figures(where: str, tally: Tally) -> list[Figure]:
    """The figures of one set on one database beside their targets."""
    hits = [hit for of_kind in tally.kinds.values() for hit in of_kind]
    shares = {kind: sum(of_kind) / len(of_kind) for kind, of_kind in tally.kinds.items()}
    weakest = min(shares, key=lambda kind: shares[kind])
    numbers = min(share for kind, share in shares.items() if kind.startswith("pn_"))
    hit, recall = sum(hits) / len(hits), sum(tally.recalls) / len(tally.recalls)
    sure, claimed = sum(tally.sure) / len(tally.sure), tally.nothing.count(Certainty.SURE)
    return [
        Figure(where, "first answer right", f"{hit:.1%} of {len(hits)}", "97 %", hit >= 0.97),
        Figure(where, "right rows among ten", f"{recall:.1%}", "97 %", recall >= 0.97),
        Figure(where, "weakest kind of number", f"{numbers:.1%}", "100 %", numbers == 1.0),
        Figure(where, f"weakest kind ({weakest})", f"{shares[weakest]:.1%}", "85 %", shares[weakest] >= 0.85),
        Figure(where, '"sure" is right', f"{sure:.1%} of {len(tally.sure)}", "99.5 %", sure >= 0.995),
        Figure(where, '"sure" without a right row', f"{claimed} of {len(tally.nothing)}", "0", claimed == 0),
    ]


def measure(url: str, parts: list[Part], asked: list[Asked]) -> Tally:
    """Store the parts in an empty database and ask all questions."""
    engine = open_database(url)
    upgrade_schema(engine)
    with tempfile.TemporaryDirectory() as folder:
        with Path(folder, "parts.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["maker", "part_number", "part_type", "description"])
            writer.writerows((maker, number, "other", words) for maker, number, words in parts)
        with open_writer(engine) as session:
            report = load_catalogue(session, Path(folder), now=NOW)
    assert not report.has_problems, report.as_json()
    tally = Tally()
    with open_reader(engine) as session:
        for kind, text, right in asked:
            tally.add(kind, right, find_matches(session, text, 10).results)
    if engine.dialect.name == "postgresql":
        empty_postgres(engine)
    engine.dispose()
    return tally


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--postgres", metavar="URL")
    options = parser.parse_args()
    figures: list[Figure] = []
    for name, (parts, asked) in (("known", read_known()), ("generated", make_generated())):
        with tempfile.TemporaryDirectory() as folder:
            databases = [("SQLite", str(Path(folder, "bench.db")))]
            databases += [("PostgreSQL", options.postgres)] if options.postgres else []
            for database, url in databases:
                figures += list_figures(
                    f"{len(asked):,} {name} questions, {database}", measure(url, parts, asked)
                )
    print_figures(figures)


if __name__ == "__main__":
    main()
