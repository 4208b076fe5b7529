"""Rows keyed again after the trade names changed: only those that hold a word whose meaning changed."""

from collections.abc import Iterator, Sequence

from sqlalchemy import Connection, bindparam, select, text, update

from kb.edits.look_up_index import raise_version
from kb.entries import Entry, read_engines, read_parts
from kb.rules.match.analyser import Analyser
from kb.rules.match.normal import encode_token
from kb.rules.match.tokens import TermField
from kb.tables.columns import get_table
from kb.tables.look_up import split_entry_id

WORDS_PER_QUESTION = 200
ENTRIES_PER_WRITE = 2_000

_FIND = {
    "sqlite": "SELECT rowid FROM look_up_text WHERE look_up_text MATCH :words ORDER BY rowid",
    "postgresql": (
        "SELECT id FROM look_up_entry WHERE to_tsvector('simple', tokens) @@ to_tsquery('simple', :words) "
        "ORDER BY id"
    ),
}
_OR = {"sqlite": " OR ", "postgresql": " | "}


def rekey_entries(connection: Connection, before: Analyser, after: Analyser) -> int:
    """Write the tokens anew of entries that other trade names read differently; returns how many changed.

    Args:
        connection: the writer's connection; the trade names are stored already.
        before: analyser with the trade names that the entries were written with.
        after: analyser with those of now.
    """
    raise_version(connection, "names_version")
    term = get_table("look_up_term")
    words = connection.execute(select(term.c.term).where(term.c.field == str(TermField.WORD))).scalars().all()
    entry_ids = _find_entries(connection, after.list_changed_words(before, words))
    changed = 0
    for start in range(0, len(entry_ids), ENTRIES_PER_WRITE):
        changed += _rekey_group(connection, after, entry_ids[start : start + ENTRIES_PER_WRITE])
    return changed


def _find_entries(connection: Connection, words: Sequence[str]) -> list[int]:
    kind = connection.dialect.name
    found: set[int] = set()
    for start in range(0, len(words), WORDS_PER_QUESTION):
        tokens = [encode_token("w", word) for word in words[start : start + WORDS_PER_QUESTION]]
        found.update(connection.execute(text(_FIND[kind]), {"words": _OR[kind].join(tokens)}).scalars())
    return sorted(found)


def _read_entries(connection: Connection, entry_ids: Sequence[int]) -> Iterator[Entry]:
    split = [split_entry_id(entry_id) for entry_id in entry_ids]
    yield from read_parts(connection, [row_id for is_engine, row_id in split if not is_engine])
    yield from read_engines(connection, [row_id for is_engine, row_id in split if is_engine])


def _rekey_group(connection: Connection, analyser: Analyser, entry_ids: Sequence[int]) -> int:
    table = get_table("look_up_entry")
    statement = select(table.c.id, table.c.tokens).where(table.c.id.in_(entry_ids))
    stored = dict(connection.execute(statement).all())
    new = {
        entry_id: tokens
        for entry_id, row, _ in _read_entries(connection, entry_ids)
        if (tokens := " ".join(analyser.analyse_row(row).tokens)) != stored.get(entry_id)
    }
    if not new:
        return 0
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            "INSERT INTO look_up_text (look_up_text, rowid, tokens) VALUES ('delete', ?, ?)",
            [(entry_id, stored[entry_id]) for entry_id in new],
        )
    connection.execute(
        update(table).where(table.c.id == bindparam("_id")).values(tokens=bindparam("_tokens")),
        [{"_id": entry_id, "_tokens": tokens} for entry_id, tokens in new.items()],
    )
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            "INSERT INTO look_up_text (rowid, tokens) VALUES (?, ?)", list(new.items())
        )
    return len(new)
