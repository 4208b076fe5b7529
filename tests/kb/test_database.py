"""Connections: settings that durability rests on, foreign keys, writers one at a time, errors in sentences.

The settings are those that SQLite's and PostgreSQL's documentation name for durability (a write-ahead log
with a sync at every commit; foreign keys are off in SQLite until asked for).
"""

import sqlite3

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, InternalError

from kb import database as connections
from kb.database import open_database, open_reader, open_trial, open_writer
from kb.errors import BadInput, Unavailable

ADD_FAMILY = text("INSERT INTO family (family) VALUES (:family)")
COUNT_FAMILIES = text("SELECT count(*) FROM family")


def add_twice(session, family):
    session.execute(ADD_FAMILY, {"family": family})
    session.execute(ADD_FAMILY, {"family": family})


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", 5000)],
)
def test_sqlite_settings_hold_on_every_connection(sqlite_engine, pragma, value):
    with sqlite_engine.connect() as first, sqlite_engine.connect() as second:
        assert first.execute(text(f"PRAGMA {pragma}")).scalar() == value
        assert second.execute(text(f"PRAGMA {pragma}")).scalar() == value


def test_row_that_refers_to_nothing_is_refused(database):
    with pytest.raises(IntegrityError), open_writer(database) as session:
        session.execute(text("INSERT INTO engine (engine, source_id) VALUES ('finch', 4711)"))


def test_row_referred_to_cannot_be_removed(database):
    with open_writer(database) as session:
        session.execute(text("INSERT INTO source (source, kind) VALUES ('manual', 'manual')"))
        session.execute(text("INSERT INTO engine (engine, source_id) SELECT 'finch', id FROM source"))
    with pytest.raises(IntegrityError), open_writer(database) as session:
        session.execute(text("DELETE FROM source"))


def test_writer_commits_when_its_block_ends_well(database):
    with open_writer(database) as session:
        session.execute(ADD_FAMILY, {"family": "finch"})
    with open_reader(database) as session:
        assert session.execute(COUNT_FAMILIES).scalar() == 1


def test_writer_leaves_nothing_when_its_block_fails(database):
    with pytest.raises(IntegrityError), open_writer(database) as session:
        add_twice(session, "finch")
    with open_reader(database) as session:
        assert session.execute(COUNT_FAMILIES).scalar() == 0


def test_reader_sees_the_same_until_it_is_closed(sqlite_engine):
    with open_reader(sqlite_engine) as reader:
        assert reader.execute(COUNT_FAMILIES).scalar() == 0
        with open_writer(sqlite_engine) as writer:
            writer.execute(ADD_FAMILY, {"family": "finch"})
        assert reader.execute(COUNT_FAMILIES).scalar() == 0


def test_prepared_statements_outlive_a_reader(postgres_engine):
    with open_reader(postgres_engine) as session:
        driver = session.connection().connection.driver_connection
        driver.execute("SELECT 788", prepare=True)
    with open_reader(postgres_engine) as session:
        kept = session.execute(text("SELECT statement FROM pg_prepared_statements")).scalars().all()
    assert "SELECT 788" in kept


def test_reader_cannot_write(postgres_engine):
    with pytest.raises(InternalError, match="read-only transaction"), open_reader(postgres_engine) as session:
        session.execute(text("DELETE FROM part"))


def test_second_writer_is_told_to_wait(sqlite_engine, monkeypatch, tmp_path):
    monkeypatch.setattr(connections, "SQLITE_PRAGMAS", (*connections.SQLITE_PRAGMAS, "busy_timeout=1"))
    impatient = open_database(str(tmp_path / "counterhand.db"))
    with open_writer(sqlite_engine) as first:
        first.execute(ADD_FAMILY, {"family": "finch"})
        with pytest.raises(Unavailable, match="busy"), open_writer(impatient) as second:
            second.execute(ADD_FAMILY, {"family": "wren"})
    impatient.dispose()


def test_database_without_tables_is_explained(tmp_path):
    engine = open_database(str(tmp_path / "empty.db"))
    with pytest.raises(Unavailable, match="no tables yet"), open_reader(engine) as session:
        session.execute(COUNT_FAMILIES)
    engine.dispose()


def test_other_file_is_explained(tmp_path):
    path = tmp_path / "letter.db"
    path.write_text("Dear customer, " * 100)
    engine = open_database(str(path))
    with pytest.raises(Unavailable, match="damaged or not"), open_reader(engine) as session:
        session.execute(COUNT_FAMILIES)
    engine.dispose()


@pytest.mark.parametrize("url", ["oracle://shop", "nonsense://", "mysql://localhost/shop"])
def test_unknown_kind_of_database_is_refused(url):
    with pytest.raises(BadInput, match="sqlite:///FILE or postgresql"):
        open_database(url)


def test_plain_path_with_blanks_and_marks_is_a_file(tmp_path):
    path = tmp_path / "my shop #1?.db"
    engine = open_database(str(path))
    with engine.connect():
        pass
    engine.dispose()
    assert path.exists()
    sqlite3.connect(path).close()


def test_trial_sees_what_it_writes_and_leaves_nothing(database):
    with open_writer(database) as session:
        session.execute(ADD_FAMILY, {"family": "finch"})
    with open_trial(database) as session:
        session.execute(ADD_FAMILY, {"family": "wren"})
        assert session.execute(COUNT_FAMILIES).scalar() == 2
    with open_reader(database) as session:
        assert session.execute(COUNT_FAMILIES).scalar() == 1


def test_others_write_while_a_trial_is_under_way(sqlite_engine, monkeypatch, tmp_path):
    monkeypatch.setattr(connections, "SQLITE_PRAGMAS", (*connections.SQLITE_PRAGMAS, "busy_timeout=1"))
    impatient = open_database(str(tmp_path / "counterhand.db"))
    with open_trial(sqlite_engine) as trial:
        trial.execute(ADD_FAMILY, {"family": "finch"})
        with open_writer(impatient) as writer:
            writer.execute(ADD_FAMILY, {"family": "wren"})
        assert trial.execute(COUNT_FAMILIES).scalar() == 1
    impatient.dispose()


def test_trial_checks_references_and_leaves_no_file(sqlite_engine, tmp_path):
    before = sorted(tmp_path.iterdir())
    with pytest.raises(IntegrityError), open_trial(sqlite_engine) as session:
        session.execute(
            text("INSERT INTO fit (part_id, engine_id, position, outcome) VALUES (9, 9, 'x', 'y')")
        )
    assert [path for path in sorted(tmp_path.iterdir()) if path.suffix == ".db"] == [
        path for path in before if path.suffix == ".db"
    ]
