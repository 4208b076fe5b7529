"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements.

A statement costs a way to the server and back, so a look-up sends few: the rows of its part numbers come
with the counters that are read first.
"""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import (
    COLUMNS,
    FROM_KEYS,
    KEYS_AHEAD,
    ORDER_AHEAD,
    SELECT_ENTRIES,
    Store,
    build_candidates,
)
from kb.rules.match.tokens import Candidate

_FETCH = f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery LIMIT %s"
# Planning a statement anew would take longer than running it; both hold until the transaction ends.
_START = (
    "SELECT set_config('plan_cache_mode', 'force_generic_plan', true), set_config('jit', 'off', true),"
    " s.terms_version, s.names_version"
)
_VERSIONS = f"{_START} FROM look_up_state s"
_KIND = 4
"""Place of the kind of key behind the settings and the counters."""
_VERSIONS_AND_KEYS = (
    f"{_START}, k.kind, k.key, {COLUMNS} FROM look_up_state s LEFT JOIN ({FROM_KEYS})"
    f" ON {KEYS_AHEAD} AND k.key = ANY(%s::text[]) {ORDER_AHEAD}"
)


class PostgresStore(Store):
    """Rows of a PostgreSQL database."""

    mark = "%s"

    def __init__(self, connection: Any) -> None:
        super().__init__(connection)
        self._cursor = connection.cursor()

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement, in which the percent sign of a remainder is doubled for the driver."""
        if parameters:
            statement = statement.replace(" % ", " %% ")
        rows: list[tuple[Any, ...]] = self._cursor.execute(statement, parameters, prepare=True).fetchall()
        return rows

    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters."""
        kind = "bigint" if isinstance(values[0], int) else "text"
        return f"{column} = ANY(%s::{kind}[])", [list(values)]

    def get_versions(self, keys_ahead: Sequence[str] = ()) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names, and at once the rows of the keys."""
        if not keys_ahead:
            ((*_, terms, names),) = self.execute(_VERSIONS, ())
            return terms, names
        found = self.execute(_VERSIONS_AND_KEYS, [list(keys_ahead)])
        first, *_ = found
        self._keep_ahead(keys_ahead, [row[_KIND:] for row in found] if first[_KIND] is not None else ())
        return first[_KIND - 2], first[_KIND - 1]

    def _fetch(self, groups: Sequence[Sequence[str]], limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in groups)
        return build_candidates(self.execute(_FETCH, (match, limit)))
