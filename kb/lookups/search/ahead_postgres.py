"""One statement that asks PostgreSQL at once what a look-up is likely to ask.

A statement costs a way to the server and back, which is more than most of its work. So the counters that
every question reads come with what is wanted next: the rows of its part numbers; without any those whose
number begins as asked, or differs little; without any of the first two those with all its words and sizes.
Where rows are few, what is shown of them comes along.
"""

from collections.abc import Iterable
from enum import IntEnum
from functools import cache
from typing import Any

from kb.lookups.search.store import FROM_KEYS, KEYS_AHEAD, LAST_CHARACTER, ORDER_AHEAD, SHOWN_PARTS
from kb.rules.match.tokens import Ahead
from kb.tables.look_up import KeyKind


class Channel(IntEnum):
    """Which part of the statement found a row."""

    EQUAL = 0
    STARTING = 1
    NEAR = 2
    DESCRIBED = 3
    ENGINE = 4


Condition = tuple[str, tuple[Any, ...]]
"""A condition on ``look_up_entry e``, and its parameters."""

COLUMNS_AHEAD = 5
"""Columns of a row: channel, kind and key of a number (code of an engine), id, tokens."""
MOST_BY_NUMBER = 60
"""Rows of one channel by number, at most; where there are as many, all are asked for alone."""
MOST_SHOWN = 12
"""What is shown comes along for so many rows found by their number, and where no more were found in all."""
_ENGINES = (
    "SELECT g.id, g.engine, e.tokens FROM look_up_entry e JOIN engine g ON g.id = e.id / 2"
    " WHERE e.id %% 2 = 1 AND to_tsvector('simple', e.tokens) @@ %s::tsquery"
)
"""The condition on odd ids is that of an index over the engines alone; the driver wants the sign doubled."""
SELECT_ENGINES = f"{_ENGINES} ORDER BY g.id"
SELECT_VERSIONS = "SELECT s.terms_version, s.names_version FROM look_up_state s"
# A lateral join keeps the order of rows; the offset keeps the planner from reading whole tables instead.
_SHOWN = (
    f"LEFT JOIN LATERAL ({SHOWN_PARTS} WHERE p.id = found.id / 2 AND found.id %% 2 = 0"
    " AND {is_shown} OFFSET 0) AS shown ON true"
)
_IS_OF_FEW = f"(SELECT count(*) FROM found {{where}}) <= {MOST_SHOWN}"  # noqa: S608 - constant text
_OF_KEYS = f"SELECT k.kind, k.key, e.id, e.tokens {FROM_KEYS}"
_EQUAL = f"{_OF_KEYS} WHERE {KEYS_AHEAD} AND k.key = ANY(%s::text[]) {ORDER_AHEAD}"
_STARTING = (
    f"{_OF_KEYS} WHERE k.kind = {KeyKind.PLAIN:d} AND k.key >= %s AND k.key < %s"  # noqa: S608
    f" AND NOT EXISTS (SELECT 1 FROM equal WHERE kind = {KeyKind.PLAIN:d} AND key = %s)"
    f" ORDER BY k.key, k.entry_id LIMIT {MOST_BY_NUMBER}"
)
_NEAR_KEYS = " UNION ALL ".join(
    f"(SELECT kind, key, entry_id FROM look_up_key WHERE kind = {kind:d} AND key >= %s AND key < %s"  # noqa: S608
    f" ORDER BY key, entry_id LIMIT {MOST_BY_NUMBER})"
    for kind in (KeyKind.PLAIN, KeyKind.PLAIN, KeyKind.REVERSED)
)
_NEAR = (
    f"SELECT k.kind, k.key, k.entry_id, e.tokens FROM ({_NEAR_KEYS}) AS k JOIN LATERAL"  # noqa: S608
    " (SELECT tokens FROM look_up_entry WHERE id = k.entry_id OFFSET 0) AS e ON true"
    f" WHERE {{unless}} LIMIT {MOST_BY_NUMBER}"
)
_DESCRIBED = (
    "SELECT NULL::integer, NULL::text, e.id, e.tokens FROM look_up_entry e"
    " WHERE {condition} AND {unless} LIMIT %s"
)


def format_found(statement: str) -> str:
    """A statement for ids and tokens of entries, with what is shown of few."""
    shown = _SHOWN.replace("{is_shown}", _IS_OF_FEW.replace(" {where}", ""))
    return f"WITH found AS MATERIALIZED ({statement}) SELECT found.*, shown.* FROM found {shown}"  # noqa: S608


def format_tokens(tokens: Iterable[str]) -> str:
    """A question to the full text for rows with one of the tokens."""
    return " | ".join(tokens)


def build_ahead(ahead: Ahead, described: Condition | None) -> tuple[str, tuple[Any, ...]]:
    """The statement and its parameters.

    Args:
        ahead: what is likely to be asked; with a start there are keys as well.
        described: condition of rows with a token of every group, None when none are wanted.

    Returns:
        A statement whose rows are the two counters, then ``COLUMNS_AHEAD`` columns, empty when nothing was
        found, then the columns of ``SHOWN_PARTS``.
    """
    condition, parameters = described or ("", ())
    statement = _format_ahead(
        has_keys=bool(ahead.keys),
        has_start=bool(ahead.start),
        has_near=bool(ahead.near_starts),
        condition=condition,
        has_engines=bool(ahead.engine_tokens),
    )
    asked: list[Any] = []
    if ahead.keys:
        asked.append("{" + ",".join(ahead.keys) + "}")  # letters and figures, a figure in each: no quotes
    if ahead.start:
        asked += (ahead.start, ahead.start + LAST_CHARACTER, ahead.start)
    if ahead.near_starts:
        for start in (ahead.near_starts[0], ahead.near_starts[-1], ahead.near_reversed):
            asked += (start, start + LAST_CHARACTER)
    if condition:
        asked += (*parameters, ahead.limit)
    if ahead.engine_tokens:
        asked.append(format_tokens(ahead.engine_tokens))
    return statement, tuple(asked)


@cache
def _format_ahead(
    *, has_keys: bool, has_start: bool, has_near: bool, condition: str, has_engines: bool
) -> str:
    by_number = [name for name, is_asked in (("equal", has_keys), ("starting", has_start)) if is_asked]
    unless = " AND ".join(f"NOT EXISTS (SELECT 1 FROM {name})" for name in by_number) or "true"  # noqa: S608
    parts = [
        (Channel.EQUAL, has_keys, _EQUAL),
        (Channel.STARTING, has_start, _STARTING),
        (Channel.NEAR, has_near, _NEAR.replace("{unless}", unless)),
        (
            Channel.DESCRIBED,
            bool(condition),
            _DESCRIBED.replace("{condition}", condition).replace("{unless}", unless),
        ),
        (
            Channel.ENGINE,
            has_engines,
            _ENGINES.replace("g.id, g.engine", "NULL::integer, g.engine, g.id"),
        ),
    ]
    asked = [(channel, channel.name.lower(), text) for channel, is_asked, text in parts if is_asked]
    if not asked:
        return SELECT_VERSIONS
    tables = ", ".join(f"{name} (kind, key, id, tokens) AS MATERIALIZED ({text})" for _, name, text in asked)
    union = " UNION ALL ".join(f"SELECT {channel:d} AS channel, * FROM {name}" for channel, name, _ in asked)  # noqa: S608
    of_few = _IS_OF_FEW.replace("{where}", f"WHERE channel <> {Channel.ENGINE:d}")
    is_shown = (
        f"found.place <= {MOST_SHOWN} AND found.channel <> {Channel.ENGINE:d}"
        f" AND (found.channel <= {Channel.STARTING:d} OR {of_few})"
    )
    return (
        f"WITH {tables},"  # noqa: S608 - constant text and marks
        f" found AS MATERIALIZED (SELECT row_number() OVER () AS place, f.* FROM ({union}) AS f)"
        " SELECT s.terms_version, s.names_version,"
        " found.channel, found.kind, found.key, found.id, found.tokens, shown.*"
        f" FROM look_up_state s LEFT JOIN found ON true {_SHOWN.replace('{is_shown}', is_shown)}"
    )
