"""Candidates by PostgreSQL's full text over a GIN index, with prepared statements.

A statement costs a way to the server and back, so a look-up sends few: with the counters that are read
first come the rows of its part numbers; without any those that begin as asked; without any of them those
with all its words and sizes. Where rows are few, what is shown of them comes along.
"""

from collections.abc import Iterable, Sequence
from enum import IntEnum
from typing import Any

from kb.lookups.search.store import (
    FROM_KEYS,
    KEYS_AHEAD,
    LAST_CHARACTER,
    NOTHING_AHEAD,
    ORDER_AHEAD,
    SELECT_ENTRIES,
    SHOWN_PARTS,
    Store,
    build_candidates,
)
from kb.lookups.search.token_counts import Group, TokenCounts
from kb.rules.match.tokens import Ahead, Candidate
from kb.tables.look_up import KeyKind


class _Channel(IntEnum):
    """Which part of the statement that reads ahead found a row."""

    EQUAL = 0
    STARTING = 1
    DESCRIBED = 2


AHEAD_LIMIT = 60
"""Rows read ahead whose part number begins as asked; where there are more, all are asked for alone."""
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
# The condition on odd ids is that of an index over the engines alone.
_ENGINES = (
    "SELECT g.id, g.engine, e.tokens FROM look_up_entry e JOIN engine g ON g.id = e.id / 2"
    " WHERE e.id % 2 = 1 AND to_tsvector('simple', e.tokens) @@ %s::tsquery ORDER BY g.id"
)
STEPS_PER_ROW = 100
"""Steps through a GIN list that take as long as looking into one row: 50 ns a step, some 5 us a row."""
_LEAST_SPARED = 4_000
"""Looking into rows by a statement of more parts pays when it spares so many steps through lists."""
_SET_PLANNER = (
    "SELECT set_config('plan_cache_mode', 'force_generic_plan', true), set_config('jit', 'off', true)"
)
_COUNTERS = "SELECT s.terms_version, s.names_version"
MOST_SHOWN = 12
"""What is shown comes along for so many rows found by their number, and where no more were found in all."""
# A lateral join takes the rows found in their order; the offset keeps the planner from joining otherwise.
_SHOWN = (
    f"LEFT JOIN LATERAL ({SHOWN_PARTS} WHERE p.id = found.id / 2 AND found.id % 2 = 0"
    " AND {is_first} OFFSET 0) AS shown ON true"
)
_IS_OF_FEW = f"(SELECT count(*) FROM found) <= {MOST_SHOWN}"  # noqa: S608 - constant text
_SHOWN_OF_FEW = _SHOWN.replace("{is_first}", _IS_OF_FEW)
_SHOWN_OF_FIRST = _SHOWN.replace(
    "{is_first}",
    f"found.place <= {MOST_SHOWN} AND (found.channel <> {_Channel.DESCRIBED:d} OR {_IS_OF_FEW})",
)
_FOUND = (
    "WITH found AS MATERIALIZED ({statement})"  # noqa: S608 - constant text
    f" SELECT found.*, shown.* FROM found {_SHOWN_OF_FEW}"
)
_VERSIONS = f"{_COUNTERS} FROM look_up_state s"
_AHEAD = (
    "WITH equal AS MATERIALIZED"  # noqa: S608 - constant text
    f" (SELECT k.kind, k.key, e.id, e.tokens {FROM_KEYS} WHERE {KEYS_AHEAD} AND k.key = ANY(%s::text[])"
    f" {ORDER_AHEAD}),"
    f" starting AS MATERIALIZED (SELECT k.kind, k.key, e.id, e.tokens {FROM_KEYS}"
    f" WHERE k.kind = {KeyKind.PLAIN:d} AND k.key >= %s AND k.key < %s"
    f" AND NOT EXISTS (SELECT 1 FROM equal WHERE kind = {KeyKind.PLAIN:d} AND key = %s)"
    " ORDER BY k.key, k.entry_id LIMIT %s),"
    " described AS (SELECT NULL::integer AS kind, NULL::text AS key, e.id, e.tokens FROM look_up_entry e"
    " WHERE {condition} AND NOT EXISTS (SELECT 1 FROM equal) AND NOT EXISTS (SELECT 1 FROM starting)"
    " LIMIT %s),"
    f" found AS MATERIALIZED (SELECT row_number() OVER () AS place, f.* FROM ("
    f"SELECT {_Channel.EQUAL:d} AS channel, * FROM equal"
    f" UNION ALL SELECT {_Channel.STARTING:d}, * FROM starting"
    f" UNION ALL SELECT {_Channel.DESCRIBED:d}, * FROM described) AS f)"
    f" {_COUNTERS}, found.channel, found.kind, found.key, found.id, found.tokens, shown.*"
    f" FROM look_up_state s LEFT JOIN found ON true {_SHOWN_OF_FIRST}"
)
_NO_KEY = "~"
"""Begins no key, for those are letters and figures."""


def _format_array(keys: Iterable[str]) -> str:
    """Keys as the text of an array; they are letters and figures of any script and need no quotes."""
    return "{" + ",".join(keys) + "}"


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
        self._shown: dict[int, dict[tuple[Any, ...], None]] = {}
        self._starting: tuple[str, list[Candidate]] | None = None
        self._described: tuple[Sequence[Sequence[str]], list[Candidate]] | None = None

    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement, in which the percent sign of a remainder is doubled for the driver."""
        if parameters:
            statement = statement.replace(" % ", " %% ")
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
        if ahead == NOTHING_AHEAD:
            ((terms, names),) = self.execute(_VERSIONS, ())
            return terms, names
        condition, parameters = self._describe(ahead.groups)
        start = ahead.start or _NO_KEY
        found = self.execute(
            _AHEAD.replace("{condition}", condition),
            (
                _format_array(ahead.keys),
                start,
                start + LAST_CHARACTER,
                start,
                AHEAD_LIMIT,
                *parameters,
                ahead.limit,
            ),
        )
        self._keep(ahead, self._keep_shown([row[2:] for row in found if row[2] is not None], width=5))
        return found[0][0], found[0][1]

    def _keep(self, ahead: Ahead, rows: Sequence[tuple[Any, ...]]) -> None:
        """Keep what was read ahead; a channel is read only where those before it found nothing."""
        equal, starting, described = ([row for row in rows if row[0] == channel] for channel in _Channel)
        self._keep_ahead(ahead.keys, [row[1:] for row in equal])
        is_started = ahead.start and all(row[1:3] != (KeyKind.PLAIN, ahead.start) for row in equal)
        if is_started and len(starting) < AHEAD_LIMIT:
            self._starting = (ahead.start, build_candidates(row[3:] for row in starting))
        if not equal and not starting:
            self._described = (ahead.groups, build_candidates(row[3:] for row in described))

    def _keep_shown(self, rows: Sequence[tuple[Any, ...]], *, width: int) -> list[tuple[Any, ...]]:
        """The first columns of rows, each once; behind them is what is shown of a part, which is kept."""
        for row in rows:
            if row[width] is not None:
                self._shown.setdefault(row[width], {})[row[width:]] = None
        return list(dict.fromkeys(row[:width] for row in rows))

    def read_candidates(self, statement: str, parameters: Sequence[Any]) -> list[Candidate]:
        """Rows of a statement that begins like ``SELECT_ENTRIES``; what is shown of few is kept."""
        rows = self.execute(_FOUND.replace("{statement}", statement), parameters)
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

    def _fetch(self, groups: Sequence[Sequence[str]], limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group, from those read ahead where they were."""
        if self._described and self._described[0] == tuple(groups):
            return self._described[1][:limit]
        condition, parameters = self._describe(groups)
        statement = f"{SELECT_ENTRIES} WHERE {condition} LIMIT %s"
        return self.read_candidates(statement, (*parameters, limit))

    def _describe(self, groups: Sequence[Sequence[str]]) -> tuple[str, tuple[Any, ...]]:
        """Condition that a row has at least one token of every group, and its parameters."""
        if not groups:
            return "false", ()
        walked, looked_for = self._choose_start(groups)
        match = " & ".join(f"({' | '.join(tokens)})" for tokens in walked)
        if not looked_for:
            return _DESCRIBED, (match,)
        return f"{_DESCRIBED} AND {_LOOKED_FOR}", (match, [" ".join(tokens) for tokens in looked_for])

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
