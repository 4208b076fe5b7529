"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements."""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import SELECT_ENTRIES, Store, build_candidates
from kb.rules.match.tokens import Candidate

_FETCH = f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery LIMIT %s"


class PostgresStore(Store):
    """Rows of a PostgreSQL database."""

    mark = "%s"

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement, in which a percent sign of its own would have to be doubled."""
        if parameters:
            statement = statement.replace(" % ", " %% ")
        rows: list[tuple[Any, ...]] = self._connection.execute(
            statement, list(parameters), prepare=True
        ).fetchall()
        return rows

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        if not groups or not all(groups):
            return []
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in groups)
        return build_candidates(self.execute(_FETCH, (match, limit)))
