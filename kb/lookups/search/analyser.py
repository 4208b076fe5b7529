"""The store of a session, and the analyser of this process with the vocabulary of now.

Every question reads two counters. While they stand still the analyser is kept; a write by any process
raises them, and the next question reads the terms or the trade names again.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any
from weakref import WeakKeyDictionary

from sqlmodel import Session

from kb.entries import build_analyser
from kb.lookups.search.for_engine import list_engine_tokens
from kb.lookups.search.store import NOTHING_AHEAD, Store
from kb.lookups.search.store_postgres import STEPS_PER_ROW, PostgresStore
from kb.lookups.search.store_sqlite import SqliteStore
from kb.lookups.search.token_counts import TokenCounts
from kb.rules.match.analyser import Analyser
from kb.rules.match.items import split_items
from kb.rules.match.look_up import list_number_keys, plan_ahead
from kb.rules.match.normal import encode_token
from kb.rules.match.tokens import Ahead, Question

Split = Callable[[Analyser, str], tuple[str, ...]]

_PLANNER_IS_SET = "look-up planner is set"
# By pool of connections, which is one per database address and process.
_kept: WeakKeyDictionary[Any, tuple[tuple[int, int], Analyser, frozenset[str]]] = WeakKeyDictionary()
_counts: WeakKeyDictionary[Any, TokenCounts] = WeakKeyDictionary()


def open_store(session: Session) -> Store:
    """The rows as this session sees them."""
    connection = session.connection()
    driver = connection.connection.driver_connection
    pool = connection.engine.pool
    if connection.dialect.name == "sqlite":
        return SqliteStore(driver, _counts.setdefault(pool, TokenCounts()))
    kept = _counts.setdefault(pool, TokenCounts(steps_per_row=STEPS_PER_ROW))
    store = PostgresStore(driver, kept)
    if _PLANNER_IS_SET not in session.info:
        store.set_planner()
        session.info[_PLANNER_IS_SET] = True
    return store


def read_questions(
    session: Session, store: Store, text: str, *, split: Split = split_items
) -> tuple[Analyser, list[tuple[str, Question]]]:
    """The analyser of now, and what a text asks for: for each article its words and its question.

    The text is read with the analyser of the last question, so that what it is likely to ask first comes
    with the counters; only where the counters have changed it is read again.
    """
    pool = session.connection().engine.pool
    kept = _kept.get(pool)
    asked: list[tuple[str, Question]] = []
    ahead = NOTHING_AHEAD
    if kept:
        asked = _analyse(kept[1], text, split)
        ahead = _plan_ahead(store, kept[1], [question for _, question in asked])
        store.know_codes(kept[2])
    versions = store.get_versions(ahead)
    if kept is None or kept[0] != versions:
        vocabulary = store.get_vocabulary()
        analyser = build_analyser(session.connection()).replace_vocabulary(vocabulary)
        codes = frozenset(encode_token("c", code) for code in vocabulary.codes)
        kept = _kept[pool] = (versions, analyser, codes)
        asked = _analyse(analyser, text, split)
    store.know_codes(kept[2])
    return kept[1], asked


def _plan_ahead(store: Store, analyser: Analyser, questions: Sequence[Question]) -> Ahead:
    if not store.is_far:
        return Ahead(keys=list_number_keys(questions))
    return replace(plan_ahead(questions), engine_tokens=list_engine_tokens(analyser, questions[0]))


def _analyse(analyser: Analyser, text: str, split: Split) -> list[tuple[str, Question]]:
    return [(part, analyser.analyse_question(part)) for part in split(analyser, text)]
