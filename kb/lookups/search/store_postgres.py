"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements.

A statement costs a way to the server and back, so a look-up sends few: the rows of its part numbers come
with the counters that are read first.
"""

from collections.abc import Sequence
from typing import Any

from kb.lookups.search.store import COLUMNS, FROM_KEYS, SELECT_ENTRIES, Store, build_candidates
from kb.rules.match.tokens import Candidate
from kb.tables.look_up import KeyKind

_FETCH = f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery LIMIT %s"
# Planning a statement anew would take longer than running it; both hold until the transaction ends.
_START = (
    "SELECT set_config('plan_cache_mode', 'force_generic_plan', true), set_config('jit', 'off', true),"
    " s.terms_version, s.names_version"
)
_VERSIONS = f"{_START} FROM look_up_state s"
_MOST_AHEAD = 1_000
_VERSIONS_AND_KEYS = (
    f"{_START}, k.kind, k.key, {COLUMNS} FROM look_up_state s LEFT JOIN ({FROM_KEYS})"
    f" ON k.kind IN ({KeyKind.PLAIN:d}, {KeyKind.LOOK_ALIKE:d}) AND k.key = ANY(%s::text[])"
    f" ORDER BY k.kind, k.key, k.entry_id LIMIT {_MOST_AHEAD}"
)


class PostgresStore(Store):
    """Rows of a PostgreSQL database."""

    mark = "%s"

    def __init__(self, connection: Any) -> None:
        super().__init__(connection)
        self._cursor = connection.cursor()
        self._ahead: dict[str, list[tuple[int, Candidate]]] = {}

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
        if len(found) < _MOST_AHEAD:
            self._ahead = {key: [] for key in keys_ahead}
            for _, _, _, _, kind, key, *row in found:
                if key is not None:
                    self._ahead[key].append((kind, build_candidates([tuple(row)])[0]))
        return found[0][2], found[0][3]

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        if not groups or not all(groups):
            return []
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in groups)
        return build_candidates(self.execute(_FETCH, (match, limit)))

    def _find_equal(self, kinds: Sequence[KeyKind], keys: Sequence[str], limit: int) -> list[Candidate]:
        """Rows by equal keys, from those read ahead where all of the keys were."""
        if not all(key in self._ahead for key in keys):
            return super()._find_equal(kinds, keys, limit)
        found = [
            (kind, key, row) for key in sorted(set(keys)) for kind, row in self._ahead[key] if kind in kinds
        ]
        found.sort(key=lambda one: one[:2])
        return [row for _, _, row in found[:limit]]
