"""Candidates by SQLite's FTS5. A token is a-z and 0-9 only, so it needs no quotes in a MATCH."""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import (
    FROM_KEYS,
    KEYS_AHEAD,
    NOTHING_AHEAD,
    ORDER_AHEAD,
    SELECT_ENTRIES,
    SELECT_TERMS,
    Store,
    build_candidates,
)
from kb.lookups.search.token_counts import COUNTED, Group, TokenCounts
from kb.rules.match.normal import encode_token, squeeze
from kb.rules.match.tokens import Ahead, Candidate, TermField, Vocabulary, collect_vocabulary

_VERSIONS = "SELECT terms_version, names_version, (SELECT max(id) FROM look_up_entry) FROM look_up_state"
_FIRST_LETTERS = {TermField.WORD: "w", TermField.CODE: "c", TermField.MAKER: "m"}
_SELECT_AHEAD = f"SELECT k.kind, k.key, e.id, e.tokens {FROM_KEYS} WHERE {KEYS_AHEAD}"
_MATCHING = "SELECT rowid FROM look_up_text WHERE look_up_text MATCH ? LIMIT ?"
_FETCH = f"{SELECT_ENTRIES} WHERE e.id IN ({_MATCHING})"
_COUNT = f"SELECT count(*) FROM (SELECT 1 FROM look_up_text WHERE look_up_text MATCH ? LIMIT {COUNTED})"  # noqa: S608
_TOKENS_BETWEEN = "SELECT tokens FROM look_up_entry WHERE id BETWEEN ? AND ?"
_WALK = (
    "SELECT e.id, e.tokens FROM look_up_text t CROSS JOIN look_up_entry e ON e.id = t.rowid"
    " WHERE look_up_text MATCH ? ORDER BY t.rowid"
)
# Ids of engines are odd, and low in the index of a large catalogue: its list is read no further.
_ENGINES = (
    "SELECT g.id, g.engine, e.tokens FROM look_up_text t"
    " CROSS JOIN look_up_entry e ON e.id = t.rowid CROSS JOIN engine g ON g.id = e.id / 2"
    " WHERE look_up_text MATCH ? AND t.rowid <= (SELECT 2 * coalesce(max(id), 0) + 1 FROM engine)"
    " AND t.rowid % 2 = 1"
    " ORDER BY t.rowid"
)


class SqliteStore(Store):
    """Rows of a SQLite database.

    Args:
        connection: the driver's connection.
        counts: what this process knows of how common tokens are.
    """

    mark = "?"

    def __init__(self, connection: Any, counts: TokenCounts) -> None:
        super().__init__(connection)
        self._counts = counts
        self._in_no_row: set[str] = set()

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement."""
        rows: list[tuple[Any, ...]] = self._connection.execute(statement, parameters).fetchall()
        return rows

    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters.

        The last value fills the list up to a power of two: so few statements differ, and each is kept ready.
        """
        filled = list(values)
        filled += filled[-1:] * ((1 << (len(filled) - 1).bit_length()) - len(filled))
        return f"{column} IN ({', '.join('?' * len(filled))})", filled

    def get_versions(self, ahead: Ahead = NOTHING_AHEAD) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names; then the rows of the keys, in one statement."""
        ((terms, names, last_id),) = self.execute(_VERSIONS, ())
        self._counts.set_last_id(last_id or 0)
        if ahead.keys:
            condition, parameters = self.list_in("k.key", ahead.keys)
            statement = f"{_SELECT_AHEAD} AND {condition} {ORDER_AHEAD}"
            self._keep_ahead(ahead.keys, self.execute(statement, parameters))
        return terms, names

    def get_vocabulary(self) -> Vocabulary:
        """Words, codes and makers of the stored rows."""
        terms = self.execute(SELECT_TERMS, ())
        self._counts.learn(
            (encode_token(_FIRST_LETTERS[field], squeeze(term)), count) for field, term, count in terms
        )
        return collect_vocabulary(terms)

    def _fetch(self, groups: Sequence[Sequence[str]], limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group, in order of their ids."""
        start = self._counts.choose_start(groups, self._count)
        if start is None:
            return []
        walked, looked_for = start
        match = " AND ".join(f"({' OR '.join(tokens)})" for tokens in walked)
        if not looked_for:
            return build_candidates(self.execute(_FETCH, (match, limit)))
        return self.get_rows(self._walk(match, looked_for, limit=limit))

    def _list_engines_with(self, tokens: Sequence[str]) -> list[tuple[Any, ...]]:
        return self.execute(_ENGINES, (" OR ".join(tokens),))

    def _walk(self, match: str, looked_for: Sequence[Group], *, limit: int) -> list[int]:
        """Ids of rows that match and have a token of every other group."""
        found = []
        cursor = self._connection.execute(_WALK, (match,))
        for row_id, tokens in cursor:
            held = frozenset(tokens.split())
            if not any(map(held.isdisjoint, looked_for)):
                found.append(row_id)
                if len(found) == limit:
                    break
        cursor.close()
        return found

    def _count(self, token: str) -> int:
        """About how many rows have a token; exactly where there are few."""
        if token in self._in_no_row:
            return 0
        ((counted,),) = self.execute(_COUNT, (token,))
        if not counted:
            self._in_no_row.add(token)
        if counted < COUNTED:
            return int(counted)
        return self._counts.estimate(token, self._read_tokens)

    def _read_tokens(self, first: int, last: int) -> list[str]:
        return [tokens for (tokens,) in self.execute(_TOKENS_BETWEEN, (first, last))]
