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
from kb.lookups.search.token_counts import Group, TokenCounts
from kb.rules.match.tokens import Candidate

_FETCH = f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery LIMIT %s"
# What is looked for in the rows found: each text holds the tokens of a group, of which one must be there.
_FETCH_AND_LOOK = (
    f"{SELECT_ENTRIES} WHERE to_tsvector('simple', e.tokens) @@ %s::tsquery AND NOT EXISTS"  # noqa: S608
    " (SELECT 1 FROM unnest(%s::text[]) AS wanted (tokens)"
    " WHERE NOT string_to_array(e.tokens, ' ') && string_to_array(wanted.tokens, ' ')) LIMIT %s"
)
_COMMON = (
    "SELECT s.most_common_elems::text::text[], s.most_common_elem_freqs, c.reltuples::bigint"
    " FROM pg_stats s JOIN pg_class c ON c.oid = 'look_up_entry'::regclass"
    " WHERE s.schemaname = current_schema() AND s.tablename = 'look_up_text'"
)
# The condition on odd ids is that of an index over the engines alone.
_ENGINES = (
    "SELECT g.id, g.engine, e.tokens FROM look_up_entry e JOIN engine g ON g.id = e.id / 2"
    " WHERE e.id % 2 = 1 AND to_tsvector('simple', e.tokens) @@ %s::tsquery ORDER BY g.id"
)
STEPS_PER_ROW = 100
"""Steps through a GIN list that take as long as looking into one row: 50 ns a step, some 5 us a row."""
_LEAST_SPARED = 4_000
"""Looking into rows by a statement of more parts pays when it spares so many steps through lists."""
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
    """Rows of a PostgreSQL database.

    Args:
        connection: the driver's connection.
        counts: what this process knows of how common tokens are, from the statistics of the database.
    """

    mark = "%s"

    def __init__(self, connection: Any, counts: TokenCounts) -> None:
        super().__init__(connection)
        self._counts = counts
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
        walked, looked_for = self._choose_start(groups)
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in walked)
        if not looked_for:
            return build_candidates(self.execute(_FETCH, (match, limit)))
        wanted = [" ".join(tokens) for tokens in looked_for]
        return build_candidates(self.execute(_FETCH_AND_LOOK, (match, wanted, limit)))

    def _list_engines_with(self, tokens: Sequence[str]) -> list[tuple[Any, ...]]:
        return self.execute(_ENGINES, (" | ".join(tokens),))

    def _choose_start(self, groups: Sequence[Group]) -> tuple[Sequence[Group], Sequence[Group]]:
        """Groups for the index and groups to look for; all for the index where nothing is known of them."""
        if self._counts.is_due():
            found = self.execute(_COMMON, ())
            if found and found[0][0]:
                ((tokens, shares, entries),) = found
                self._counts.learn_shares(dict(zip(tokens, shares, strict=False)), entries=entries)
        start = self._counts.choose_start(groups, self._counts.get_rare)
        if start is None:
            return groups, ()
        spared = sum(self._counts.find_size(group, self._counts.get_rare) for group in start[1])
        return start if spared >= _LEAST_SPARED else (groups, ())
