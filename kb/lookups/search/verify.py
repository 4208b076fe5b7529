"""Whether the look-up's index says what the rows say."""

from collections import Counter
from collections.abc import Iterator
from itertools import chain, islice
from typing import Any

from sqlalchemy import func, select, text, tuple_
from sqlmodel import Session

from kb.entries import Entry, Key, build_analyser, read_all_parts, read_engines
from kb.rules.match.analyser import Analyser
from kb.rules.match.trade import build_words_fingerprint
from kb.tables.columns import get_table

ENTRIES_PER_QUESTION = 200
_REMEDY = "load the catalogue again or restore a backup"


def find_index_difference(session: Session) -> str:
    """What differs first between index and rows; empty when nothing does."""
    connection = session.connection()
    written_with = session.execute(select(get_table("look_up_state").c.words_fingerprint)).scalar_one()
    if written_with and written_with != build_words_fingerprint():
        return (
            "the look-up was written by a program with other trade words; "
            "counterhand serve or counterhand import writes it anew"
        )
    analyser = build_analyser(connection)
    terms: Counter[tuple[str, str]] = Counter()
    tokens: Counter[str] = Counter()
    totals = {"look_up_entry": 0, "look_up_key": 0}
    for group in _split(chain(read_engines(connection), read_all_parts(connection))):
        found = _compare_group(session, group, analyser, terms=terms, tokens=tokens)
        if found:
            return f"{found}; {_REMEDY}"
        totals["look_up_entry"] += len(group)
        totals["look_up_key"] += sum(len(keys) for _, _, keys in group)
    return (
        _find_surplus(session, totals)
        or _find_term_difference(session, terms)
        or _find_text_difference(session, tokens)
    )


def _split(entries: Iterator[Entry]) -> Iterator[list[Entry]]:
    while group := list(islice(entries, ENTRIES_PER_QUESTION)):
        yield group


def _compare_group(
    session: Session,
    group: list[Entry],
    analyser: Analyser,
    *,
    terms: Counter[tuple[str, str]],
    tokens: Counter[str],
) -> str:
    table = get_table("look_up_entry")
    ids = [entry_id for entry_id, _, _ in group]
    stored = _read_pairs(session, select(table.c.id, table.c.tokens).where(table.c.id.in_(ids)))
    wanted: list[tuple[int, str, int]] = []
    for entry_id, row, keys in group:
        analysed = analyser.analyse_row(row)
        if stored.get(entry_id) != " ".join(analysed.tokens):
            return f"the look-up does not hold '{row.part_number or row.description}' as its row says"
        terms.update((str(field), term) for field, term in analysed.terms)
        tokens.update(analysed.tokens)
        wanted += [_build_key(key, entry_id) for key in keys]
    keys_table = get_table("look_up_key")
    columns = (keys_table.c.kind, keys_table.c.key, keys_table.c.entry_id)
    count = session.execute(
        select(func.count()).select_from(keys_table).where(tuple_(*columns).in_(wanted))
    ).scalar_one()
    return "" if count == len(wanted) else f"a part number near '{group[0][1].part_number}' lacks its key"


def _read_pairs(session: Session, statement: Any) -> dict[Any, Any]:
    return dict(session.execute(statement).all())


def _build_key(key: Key, entry_id: int) -> tuple[int, str, int]:
    return int(key[0]), key[1], entry_id


def _find_surplus(session: Session, totals: dict[str, int]) -> str:
    for name, total in totals.items():
        count = session.execute(select(func.count()).select_from(get_table(name))).scalar_one()
        if count != total:
            return f"{name} has {count} rows where the catalogue gives {total}; {_REMEDY}"
    return ""


def _find_term_difference(session: Session, terms: Counter[tuple[str, str]]) -> str:
    table = get_table("look_up_term")
    stored = {
        (field, term): count
        for field, term, count in session.execute(select(table.c.field, table.c.term, table.c.count))
    }
    differing = sorted(set(stored.items()) ^ set(terms.items()))
    return f"the vocabulary counts '{differing[0][0][1]}' wrongly; {_REMEDY}" if differing else ""


def _find_text_difference(session: Session, tokens: Counter[str]) -> str:
    """Whether SQLite's full-text index holds other tokens; PostgreSQL keeps its index by itself."""
    if session.get_bind().dialect.name != "sqlite":
        return ""
    session.execute(
        text(
            "CREATE VIRTUAL TABLE IF NOT EXISTS temp.look_up_doc"
            " USING fts5vocab('main', 'look_up_text', 'row')"
        )
    )
    stored = _read_pairs(session, text("SELECT term, doc FROM temp.look_up_doc"))
    differing = sorted(set(stored.items()) ^ set(tokens.items()))
    return f"the full-text index counts '{differing[0][0]}' wrongly; {_REMEDY}" if differing else ""
