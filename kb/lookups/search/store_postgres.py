"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements.

What was read ahead is kept for the questions that follow it.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from kb.lookups.search.ahead_postgres import (
    COLUMNS_AHEAD,
    MOST_BY_NUMBER,
    SELECT_ENGINES,
    Channel,
    Condition,
    build_ahead,
    format_found,
    format_tokens,
)
from kb.lookups.search.store import NOTHING_AHEAD, SELECT_ENTRIES, Store, build_candidates, get_plain_key
from kb.lookups.search.token_counts import Group, TokenCounts
from kb.rules.match.tokens import Ahead, Candidate
from kb.tables.look_up import KeyKind

_DESCRIBED = "to_tsvector('simple', e.tokens) @@ %s::tsquery"
# What is looked for in the rows found: each text holds the tokens of a group, of which one must be there.
_LOOKED_FOR = (
    "NOT EXISTS (SELECT 1 FROM unnest(%s::text[]) AS wanted (tokens)"
    " WHERE NOT string_to_array(e.tokens, ' ') && string_to_array(wanted.tokens, ' '))"
)
_COMMON = (
    "SELECT s.most_common_elems::text::text[], s.most_common_elem_freqs, c.reltuples::bigint"
    " FROM pg_stats s JOIN pg_class c ON c.oid = 'look_up_entry'::regclass"
    " WHERE s.schemaname = current_schema() AND s.tablename = 'look_up_text'"
)
STEPS_PER_ROW = 100
"""Steps through a GIN list that take as long as looking into one row: 50 ns a step, some 5 us a row."""
_LEAST_SPARED = 4_000
"""Looking into rows by a statement of more parts pays when it spares so many steps through lists."""
_SET_PLANNER = (
    "SELECT set_config('plan_cache_mode', 'force_generic_plan', true), set_config('jit', 'off', true)"
)


class PostgresStore(Store):
    """Rows of a PostgreSQL database.

    Args:
        connection: the driver's connection.
        counts: what this process knows of how common tokens are, from the statistics of the database.
    """

    mark = "%s"
    is_far = True

    def __init__(self, connection: Any, counts: TokenCounts) -> None:
        super().__init__(connection)
        self._counts = counts
        self._cursor = connection.cursor()
        self._shown: dict[int, dict[tuple[Any, ...], None]] = {}
        self._rows: dict[int, Candidate] = {}
        self._starting: tuple[str, list[Candidate]] | None = None
        self._near: tuple[tuple[tuple[str, ...], str], list[tuple[Any, ...]]] | None = None
        self._engines: tuple[tuple[str, ...], list[tuple[Any, ...]]] | None = None
        self._described: tuple[Sequence[Sequence[str]], list[Candidate]] | None = None

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement."""
        rows: list[tuple[Any, ...]] = self._cursor.execute(statement, parameters, prepare=True).fetchall()
        return rows

    def set_planner(self) -> None:
        """Keep plans until the transaction ends: planning a statement anew takes longer than running it."""
        self.execute(_SET_PLANNER, ())

    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters."""
        kind = "bigint" if isinstance(values[0], int) else "text"
        return f"{column} = ANY(%s::{kind}[])", [list(values)]

    def get_versions(self, ahead: Ahead = NOTHING_AHEAD) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names, and at once what is asked for next."""
        if any(map(self._is_in_no_row, ahead.groups)):
            ahead = replace(ahead, groups=())
        if ahead.engine_tokens:
            ahead = replace(ahead, engine_tokens=self._leave_unknown_out(ahead.engine_tokens))
        described = self._describe(ahead.groups) if ahead.groups else None
        found = self.execute(*build_ahead(ahead, described))
        width = 2 + COLUMNS_AHEAD
        rows = self._keep_shown([row[2:] for row in found if len(row) >= width and row[2] is not None])
        self._keep(ahead, rows)
        return found[0][0], found[0][1]

    def _keep(self, ahead: Ahead, rows: Sequence[tuple[Any, ...]]) -> None:
        """Keep what was read ahead; a channel is read only where those before it found nothing."""
        by_channel: dict[int, list[tuple[Any, ...]]] = {channel: [] for channel in Channel}
        for row in rows:
            by_channel[row[0]].append(row[1:])
        equal, starting, near, described, engines = by_channel.values()
        self._keep_ahead(ahead.keys, equal)
        is_numbered = bool(equal or starting)
        is_met = any(row[:2] == (KeyKind.PLAIN, ahead.start) for row in equal)
        if ahead.start and not is_met and len(starting) < MOST_BY_NUMBER:
            self._starting = (ahead.start, build_candidates(row[2:] for row in starting))
        if ahead.near_starts and not is_numbered and len(near) < MOST_BY_NUMBER:
            self._near = ((ahead.near_starts, ahead.near_reversed), near)
            self._rows = {row.row_id: row for row in build_candidates(row[2:] for row in near)}
        if ahead.groups and not is_numbered:
            self._described = (ahead.groups, build_candidates(row[2:] for row in described))
        if ahead.engine_tokens:
            self._engines = (ahead.engine_tokens, sorted((row[2], row[1], row[3]) for row in engines))

    def _keep_shown(
        self, rows: Sequence[tuple[Any, ...]], *, width: int = COLUMNS_AHEAD
    ) -> list[tuple[Any, ...]]:
        """The first columns of rows, each once; behind them is what is shown of a part, which is kept."""
        for row in rows:
            if row[width] is not None:
                self._shown.setdefault(row[width], {})[row[width:]] = None
        return list(dict.fromkeys(row[:width] for row in rows))

    def read_candidates(self, statement: str, parameters: Sequence[Any]) -> list[Candidate]:
        """Rows of a statement that begins like ``SELECT_ENTRIES``; what is shown of few is kept."""
        rows = self.execute(format_found(statement), parameters)
        return build_candidates(self._keep_shown(rows, width=2))

    def list_shown_parts(self, part_ids: Sequence[int]) -> list[tuple[Any, ...]]:
        """What is shown of parts, from what came along where it did for all."""
        if all(part_id in self._shown for part_id in part_ids):
            return [row for part_id in part_ids for row in self._shown[part_id]]
        return super().list_shown_parts(part_ids)

    def find_by_key_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key begins with ``start``, from those read ahead where they were."""
        if self._starting and self._starting[0] == start:
            return self._starting[1][:limit]
        return super().find_by_key_start(start, limit=limit)

    def list_keys(
        self, starts: Sequence[str], reversed_start: str, *, limit: int
    ) -> Sequence[tuple[int, str]]:
        """Row ids and keys by their starts, from those read ahead where they were."""
        if self._near and self._near[0] == (tuple(starts), reversed_start):
            return [(row_id, get_plain_key(kind, key)) for kind, key, row_id, _ in self._near[1][:limit]]
        return super().list_keys(starts, reversed_start, limit=limit)

    def get_rows(self, row_ids: Sequence[int]) -> Sequence[Candidate]:
        """Rows by their ids, in order of their ids, from those read ahead where all were."""
        if all(row_id in self._rows for row_id in row_ids):
            return [self._rows[row_id] for row_id in sorted(row_ids)]
        return super().get_rows(row_ids)

    def _fetch(self, groups: Sequence[Sequence[str]], limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group, from those read ahead where they were."""
        if self._described and self._described[0] == tuple(groups):
            return self._described[1][:limit]
        condition, parameters = self._describe(groups)
        statement = f"{SELECT_ENTRIES} WHERE {condition} LIMIT %s"
        return self.read_candidates(statement, (*parameters, limit))

    def _describe(self, groups: Sequence[Sequence[str]]) -> Condition:
        """Condition that a row has at least one token of every group."""
        walked, looked_for = self._choose_start(groups)
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in walked)
        if not looked_for:
            return _DESCRIBED, (match,)
        return f"{_DESCRIBED} AND {_LOOKED_FOR}", (match, [" ".join(tokens) for tokens in looked_for])

    def _list_engines_with(self, tokens: Sequence[str]) -> list[tuple[Any, ...]]:
        if self._engines and self._engines[0] == tuple(tokens):
            return self._engines[1]
        return self.execute(SELECT_ENGINES, (format_tokens(tokens),))

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
