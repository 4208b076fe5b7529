"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements."""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import SELECT_ENTRIES, SELECT_VERSIONS, Store, build_candidates
from kb.rules.match.tokens import Candidate

_FETCH = f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery LIMIT %s"


# Planning a statement anew would take longer than running it; both hold until the transaction ends.
_SETTINGS = "SET LOCAL plan_cache_mode = force_generic_plan; SET LOCAL jit = off"


class PostgresStore(Store):
    """Rows of a PostgreSQL database."""

    mark = "%s"

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement, in which the percent sign of a remainder is doubled for the driver."""
        if parameters:
            statement = statement.replace(" % ", " %% ")
        found = self._connection.execute(statement, parameters, prepare=True)
        rows: list[tuple[Any, ...]] = found.fetchall()
        return rows

    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters."""
        kind = "bigint" if isinstance(values[0], int) else "text"
        return f"{column} = ANY(%s::{kind}[])", [list(values)]

    def get_versions(self) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names; the first statement of a look-up."""
        found = self._connection.execute(f"{_SETTINGS}; {SELECT_VERSIONS}")
        while found.nextset():
            pass
        ((terms, names),) = found.fetchall()
        return terms, names

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        if not groups or not all(groups):
            return []
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in groups)
        return build_candidates(self.execute(_FETCH, (match, limit)))
