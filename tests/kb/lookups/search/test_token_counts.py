"""Starting at the rarest token changes how rows are found, and not which.

The expected rows come from going through all rows with plain set operations.
"""

import random

import pytest
from sqlalchemy import text

from kb.database import open_reader, open_writer
from kb.lookups.search import store_postgres
from kb.lookups.search.store_postgres import PostgresStore
from kb.lookups.search.store_sqlite import SqliteStore
from kb.lookups.search.token_counts import COUNTED, TokenCounts

SEED = 20_260_131


@pytest.fixture
def sqlite_catalogue(sqlite_engine, load_files, catalogue_file):
    assert not load_files(sqlite_engine, parts=catalogue_file).has_problems
    return sqlite_engine


def open_driver(session):
    return session.connection().connection.driver_connection


@pytest.mark.parametrize("steps_per_row", [0, 1, 1_000_000])
def test_the_same_rows_are_found_wherever_the_search_starts(sqlite_catalogue, steps_per_row):
    rng = random.Random(SEED)
    with open_reader(sqlite_catalogue) as session:
        driver = open_driver(session)
        rows = [
            (row_id, frozenset(tokens.split()))
            for row_id, tokens in driver.execute("SELECT id, tokens FROM look_up_entry ORDER BY id")
        ]
        store = SqliteStore(driver, TokenCounts(steps_per_row=steps_per_row))
        store.get_versions()
        found_any = 0
        for _ in range(200):
            wanted = rng.sample(sorted(rng.choice(rows)[1]), 3)
            groups = [[token, rng.choice(("n7777", "wbelt", "n17"))] for token in wanted]
            limit = rng.choice((1, 5, 150))
            expected = [row_id for row_id, held in rows if not any(map(held.isdisjoint, groups))][:limit]
            assert [row.row_id for row in store.fetch(groups, limit=limit)] == expected
            found_any += bool(expected)
    assert found_any == 200


@pytest.mark.parametrize("steps_per_row", [0, 1_000_000])
def test_postgres_finds_the_same_rows_wherever_the_search_starts(
    postgres_engine, load_files, catalogue_file, monkeypatch, steps_per_row
):
    monkeypatch.setattr(store_postgres, "_LEAST_SPARED", 0)
    assert not load_files(postgres_engine, parts=catalogue_file).has_problems
    with postgres_engine.begin() as connection:
        connection.execute(text("ANALYZE look_up_entry"))
    rng = random.Random(SEED)
    counts = TokenCounts(steps_per_row=steps_per_row)
    with open_reader(postgres_engine) as session:
        driver = open_driver(session)
        rows = [
            (row_id, frozenset(tokens.split()))
            for row_id, tokens in driver.execute("SELECT id, tokens FROM look_up_entry").fetchall()
        ]
        store = PostgresStore(driver, counts)
        for _ in range(50):
            wanted = rng.sample(sorted(rng.choice(rows)[1]), 3)
            groups = [[token, rng.choice(("n7777", "wbelt", "n17"))] for token in wanted]
            expected = {row_id for row_id, held in rows if not any(map(held.isdisjoint, groups))}
            assert {row.row_id for row in store.fetch(groups, limit=400)} == expected
    assert counts.last_id == 800  # the statistics of 400 entries were read


def test_a_token_that_stood_nowhere_is_found_as_soon_as_it_stands_in_a_row(sqlite_catalogue):
    counts = TokenCounts()
    with open_reader(sqlite_catalogue) as session:
        store = SqliteStore(open_driver(session), counts)
        store.get_versions()
        assert list(store.fetch([["n7777"], ["wbelt"]], limit=10)) == []
    with open_writer(sqlite_catalogue) as session:
        driver = open_driver(session)
        driver.execute("INSERT INTO look_up_entry (id, tokens) VALUES (9000, 'n7777 wbelt')")
        driver.execute("INSERT INTO look_up_text (rowid, tokens) VALUES (9000, 'n7777 wbelt')")
    with open_reader(sqlite_catalogue) as session:
        store = SqliteStore(open_driver(session), counts)
        assert [row.row_id for row in store.fetch([["n7777"], ["wbelt"]], limit=10)] == [9000]


def test_counts_are_forgotten_when_the_index_has_grown():
    counts, asked = TokenCounts(), []

    def count(token):
        asked.append(token)
        return 3

    for last_id in (1_000, 1_100, 2_000):
        counts.set_last_id(last_id)
        assert counts.find_size(["n788", "n789"], count) == 6
    assert asked == ["n788", "n789", "n788", "n789"]


def test_tokens_are_estimated_from_rows_spread_over_all_ids():
    counts, read = TokenCounts(), []
    counts.set_last_id(400_000)  # 200,000 parts have even ids; every third has the token

    def read_tokens(first, last):
        read.append((first, last))
        return ["kbelt n788" if row_id % 6 == 0 else "kbelt" for row_id in range(first, last + 1, 2)]

    assert 60_000 <= counts.estimate("n788", read_tokens) <= 73_334
    assert counts.estimate("kbelt", read_tokens) == 200_000
    assert counts.estimate("n17", read_tokens) == COUNTED
    assert len(read) == len(set(read)) == 32
    assert 0 < min(read)[0] < 12_500
    assert 387_500 < max(read)[1] < 400_000
