"""A store in memory, and the catalogue of the quality tests."""

import csv
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from kb.rules.match.analyser import Analyser
from kb.rules.match.part_number import format_key, format_look_alike
from kb.rules.match.tokens import Candidate, RowText, Vocabulary, build_candidate, collect_vocabulary
from kb.rules.match.trade import CATCH_ALL
from kb.standards.bearings import list_bearing_dimensions
from kb.standards.other_trade_words import list_other_trade_words
from kb.standards.trade_words import list_trade_words

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class StoredRow(Candidate):
    """A candidate that tells its part number."""

    part_number: str = ""


class MemoryStore:
    """Rows in dictionaries; answers what a database has to answer."""

    def __init__(self, analyser: Analyser, rows: Iterable[RowText]) -> None:
        self._rows: list[StoredRow] = []
        self._with_token: dict[str, set[int]] = defaultdict(set)
        terms: Counter[tuple[str, str]] = Counter()
        for row in rows:
            keys = analyser.analyse_row(row)
            row_id = len(self._rows)
            read = build_candidate(row_id, " ".join(keys.tokens))
            self._rows.append(StoredRow(row_id, read.tokens, read.word_count, row.part_number))
            terms.update(keys.terms)
            for token in read.tokens:
                self._with_token[token].add(row_id)
        keys_of = [(format_key(row.part_number), row.row_id) for row in self._rows]
        self._keys = sorted(keys_of)
        self._reversed = sorted((key[::-1], row_id) for key, row_id in keys_of)
        self._by_look_alike: dict[str, list[int]] = defaultdict(list)
        for key, row_id in keys_of:
            self._by_look_alike[format_look_alike(key)].append(row_id)
        self._vocabulary = collect_vocabulary((field, term, count) for (field, term), count in terms.items())

    def __len__(self) -> int:
        return len(self._rows)

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        found = [set().union(*(self._with_token.get(token, set()) for token in group)) for group in groups]
        if not found:
            return []
        found.sort(key=len)
        return [self._rows[row_id] for row_id in sorted(found[0].intersection(*found[1:]))[:limit]]

    def _list_start(self, keys: list[tuple[str, int]], start: str, limit: int) -> list[StoredRow]:
        found = []
        for key, row_id in keys[bisect_left(keys, (start, -1)) :]:
            if not key.startswith(start) or len(found) == limit:
                break
            found.append(self._rows[row_id])
        return found

    def find_by_key(self, keys: Sequence[str], *, limit: int) -> Sequence[Candidate]:
        found = []
        for key in keys:
            found += [
                row for row in self._list_start(self._keys, key, limit) if format_key(row.part_number) == key
            ]
        return found[:limit]

    def find_by_key_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        return self._list_start(self._keys, start, limit)

    def find_by_look_alike(self, key: str, *, limit: int) -> Sequence[Candidate]:
        return [self._rows[row_id] for row_id in self._by_look_alike.get(key, ())[:limit]]

    def list_keys(
        self, starts: Sequence[str], reversed_start: str, *, limit: int
    ) -> Sequence[tuple[int, str]]:
        rows = [row for start in starts for row in self._list_start(self._keys, start, limit)]
        rows += self._list_start(self._reversed, reversed_start, limit)
        return [(row.row_id, format_key(row.part_number)) for row in rows]

    def get_rows(self, row_ids: Sequence[int]) -> Sequence[Candidate]:
        return [self._rows[row_id] for row_id in row_ids]

    def get_vocabulary(self) -> Vocabulary:
        return self._vocabulary


def read_rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def phrase_rows() -> list[tuple[str, str]]:
    """The trade words that the program ships."""
    return [*(pair for pair in list_trade_words() if pair[0] not in CATCH_ALL), *list_other_trade_words()]


@pytest.fixture(scope="session")
def bearing_sizes() -> dict[str, tuple[float, float, float]]:
    """ISO 15 sizes by the designation that the trade writes."""
    return {row.trade_code: (row.bore_mm, row.od_mm, row.width_mm) for row in list_bearing_dimensions()}


@pytest.fixture(scope="session")
def make_store_with():
    """Build a store of rows, and an analyser with its vocabulary."""

    def make(analyser: Analyser, rows: Iterable[RowText]) -> tuple[MemoryStore, Analyser]:
        store = MemoryStore(analyser, rows)
        return store, analyser.replace_vocabulary(store.get_vocabulary())

    return make


@pytest.fixture(scope="session")
def make_store(phrase_rows, bearing_sizes, make_store_with):
    """Build a store with the whole phrase table."""
    analyser = Analyser(phrase_rows, bearing_sizes=bearing_sizes)

    def make(rows: Iterable[RowText]) -> tuple[MemoryStore, Analyser]:
        return make_store_with(analyser, rows)

    return make


@pytest.fixture(scope="session")
def catalogue(make_store):
    """The 400 rows of the test catalogue."""
    return make_store(
        RowText(row["part_no"], row["maker"], row["description"]) for row in read_rows("lookup_catalogue.csv")
    )


@pytest.fixture(scope="session")
def questions() -> list[dict[str, str]]:
    """The 153 questions on the test catalogue."""
    return read_rows("lookup_queries.csv")


@pytest.fixture(scope="session")
def counter_questions() -> list[dict[str, str]]:
    """Further questions on the test catalogue, as they come over a counter."""
    return read_rows("counter_questions.csv")
