"""Candidates by SQLite's FTS5. A token is a-z and 0-9 only, so it needs no quotes in a MATCH."""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import SELECT_ENTRIES, SELECT_VERSIONS, Store, build_candidates
from kb.rules.match.tokens import Candidate

_MATCHING = "SELECT rowid FROM look_up_text WHERE look_up_text MATCH ? LIMIT ?"
_FETCH = f"{SELECT_ENTRIES} WHERE e.id IN ({_MATCHING})"


class SqliteStore(Store):
    """Rows of a SQLite database."""

    mark = "?"

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement."""
        rows: list[tuple[Any, ...]] = self._connection.execute(statement, parameters).fetchall()
        return rows

    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters."""
        return f"{column} IN ({', '.join('?' * len(values))})", values

    def get_versions(self) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names."""
        ((terms, names),) = self.execute(SELECT_VERSIONS, ())
        return terms, names

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        if not groups or not all(groups):
            return []
        match = " AND ".join(f"({' OR '.join(tokens)})" for tokens in groups)
        return build_candidates(self.execute(_FETCH, (match, limit)))
