"""The store of a session, and the analyser of this process with the vocabulary of now.

Every question reads two counters. While they stand still the analyser is kept; a write by any process
raises them, and the next question reads the terms or the trade names again.
"""

from typing import Any
from weakref import WeakKeyDictionary

from sqlmodel import Session

from kb.entries import build_analyser
from kb.lookups.search.store import Store
from kb.lookups.search.store_postgres import PostgresStore
from kb.lookups.search.store_sqlite import SqliteStore
from kb.lookups.search.token_counts import TokenCounts
from kb.rules.match.analyser import Analyser

# By pool of connections, which is one per database address and process.
_kept: WeakKeyDictionary[Any, tuple[tuple[int, int], Analyser]] = WeakKeyDictionary()
_counts: WeakKeyDictionary[Any, TokenCounts] = WeakKeyDictionary()


def open_store(session: Session) -> Store:
    """The rows as this session sees them."""
    connection = session.connection()
    driver = connection.connection.driver_connection
    if connection.dialect.name != "sqlite":
        return PostgresStore(driver)
    return SqliteStore(driver, _counts.setdefault(connection.engine.pool, TokenCounts()))


def get_analyser(session: Session, store: Store) -> Analyser:
    """The analyser for questions to this session's rows."""
    pool = session.connection().engine.pool
    versions = store.get_versions()
    kept = _kept.get(pool)
    if kept is None or kept[0] != versions:
        analyser = build_analyser(session.connection()).replace_vocabulary(store.get_vocabulary())
        kept = _kept[pool] = (versions, analyser)
    return kept[1]
