"""Candidates out of a database: the statements that both kinds share, with their own marks for parameters.

Statements go straight to the driver: a look-up sends several, and each would cost more on its way through
the statement compiler than in the database.
"""

from abc import ABC, abstractmethod
from collections.abc import Container, Iterable, Sequence
from operator import itemgetter
from typing import Any

from kb.rules.match.tokens import Candidate, Vocabulary, collect_vocabulary
from kb.tables.look_up import KeyKind

COLUMNS = "e.id, coalesce(p.part_number, g.designation, g.engine), coalesce(m.maker, ''), e.tokens"
_JOINS = (
    " LEFT JOIN part p ON p.id = e.id / 2 AND e.id % 2 = 0"
    " LEFT JOIN maker m ON m.id = p.maker_id"
    " LEFT JOIN engine g ON g.id = e.id / 2 AND e.id % 2 = 1"
)
SELECT_ENTRIES = f"SELECT {COLUMNS} FROM look_up_entry e{_JOINS}"  # noqa: S608 - constant text
FROM_KEYS = f"look_up_key k JOIN look_up_entry e ON e.id = k.entry_id{_JOINS}"
_SELECT_BY_KEY = f"SELECT {COLUMNS} FROM {FROM_KEYS}"  # noqa: S608
SELECT_TERMS = "SELECT field, term, count FROM look_up_term"
MOST_AHEAD = 1_000
KEYS_AHEAD = f"k.kind IN ({KeyKind.PLAIN:d}, {KeyKind.LOOK_ALIKE:d})"
ORDER_AHEAD = f"ORDER BY k.kind, k.key, k.entry_id LIMIT {MOST_AHEAD}"
_LAST_CHARACTER = "\U0010ffff"


class Store(ABC):
    """A ``kb.rules.match.store.CandidateStore`` over a driver's connection."""

    mark: str
    """How the driver writes a parameter."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection
        self._code_tokens: Container[str] | None = None
        self._ahead: dict[str, list[tuple[int, Candidate]]] = {}

    @abstractmethod
    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement written with this database's marks."""

    @abstractmethod
    def list_in(self, column: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
        """Condition that a column is one of the values, and its parameters; at least one value."""

    @abstractmethod
    def _fetch(self, groups: Sequence[Sequence[str]], limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group; no group is empty."""

    @abstractmethod
    def _list_engines_with(self, tokens: Sequence[str]) -> list[tuple[Any, ...]]:
        """Id, code and tokens of engines that have one of the tokens, in order of their ids; never none."""

    @abstractmethod
    def get_versions(self, keys_ahead: Sequence[str] = ()) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names.

        Args:
            keys_ahead: keys that may be asked for by ``find_by_key`` and ``find_by_look_alike``; their rows
                are read at once.
        """

    def know_codes(self, code_tokens: Container[str]) -> None:
        """Say of which codes there are rows, as of the counters read: others need no question."""
        self._code_tokens = code_tokens

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""
        if not groups or any(map(self._is_in_no_row, groups)):
            return []
        return self._fetch(groups, limit)

    def list_engines_with(self, tokens: Iterable[str]) -> list[tuple[Any, ...]]:
        """Id, code and tokens of engines that have at least one of the tokens, in order of their ids."""
        wanted = [token for token in dict.fromkeys(tokens) if not self._is_unknown_code(token)]
        return self._list_engines_with(wanted) if wanted else []

    def _is_in_no_row(self, group: Sequence[str]) -> bool:
        """Whether a group holds nothing but codes that no row has."""
        return all(map(self._is_unknown_code, group))

    def _is_unknown_code(self, token: str) -> bool:
        known = self._code_tokens
        return known is not None and token[0] == "c" and token not in known

    def find_by_key(self, keys: Sequence[str], *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key is one of the keys."""
        return self._find_equal((KeyKind.PLAIN,), keys, limit)

    def find_by_key_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key begins with ``start``."""
        statement = (
            f"{_SELECT_BY_KEY} WHERE k.kind = {KeyKind.PLAIN:d} AND k.key >= {self.mark}"
            f" AND k.key < {self.mark} ORDER BY k.key, k.entry_id LIMIT {limit:d}"
        )
        return build_candidates(self.execute(statement, (start, start + _LAST_CHARACTER)))

    def find_by_look_alike(self, key: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose look-alike key is ``key``; it is stored only where it differs from the plain one."""
        return self._find_equal((KeyKind.PLAIN, KeyKind.LOOK_ALIKE), [key], limit)

    def list_keys(
        self, starts: Sequence[str], reversed_start: str, *, limit: int
    ) -> Sequence[tuple[int, str]]:
        """Row ids and keys: those beginning with one of the starts, or reversed with the reversed start."""
        asked = [*((KeyKind.PLAIN, start) for start in starts), (KeyKind.REVERSED, reversed_start)]
        statement = " UNION ALL ".join(
            f"SELECT * FROM (SELECT kind, entry_id, key FROM look_up_key WHERE kind = {kind:d}"  # noqa: S608
            f" AND key >= {self.mark} AND key < {self.mark} ORDER BY key, entry_id LIMIT {limit:d}) AS s{at}"
            for at, (kind, _) in enumerate(asked)
        )
        marks = [mark for _, start in asked for mark in (start, start + _LAST_CHARACTER)]
        return [
            (row_id, key[::-1] if kind == KeyKind.REVERSED else key)
            for kind, row_id, key in self.execute(statement, marks)
        ]

    def get_rows(self, row_ids: Sequence[int]) -> Sequence[Candidate]:
        """Rows by their ids, in order of their ids."""
        if not row_ids:
            return []
        condition, parameters = self.list_in("e.id", row_ids)
        return build_candidates(self.execute(f"{SELECT_ENTRIES} WHERE {condition} ORDER BY e.id", parameters))

    def get_vocabulary(self) -> Vocabulary:
        """Words, codes and makers of the stored rows."""
        return collect_vocabulary(self.execute(SELECT_TERMS, ()))

    def _keep_ahead(self, keys: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
        """Keep rows read ahead: kind, key, then the columns of a candidate; not where some were cut off."""
        if len(rows) >= MOST_AHEAD:
            return
        self._ahead = {key: [] for key in keys}
        for kind, key, *row in rows:
            self._ahead[key].append((kind, *build_candidates([tuple(row)])))

    def _find_equal(self, kinds: Sequence[KeyKind], keys: Sequence[str], limit: int) -> list[Candidate]:
        """Rows by equal keys, from those read ahead where all of the keys were."""
        if all(key in self._ahead for key in keys):
            ahead = ((kind, key, row) for key in set(keys) for kind, row in self._ahead[key] if kind in kinds)
            return [row for _, _, row in sorted(ahead, key=itemgetter(0, 1))][:limit]
        condition, parameters = self.list_in("k.key", keys)
        listed = ", ".join(f"{kind:d}" for kind in kinds)
        statement = (
            f"{_SELECT_BY_KEY} WHERE k.kind IN ({listed}) AND {condition}"
            f" ORDER BY k.kind, k.key, k.entry_id LIMIT {limit:d}"
        )
        return build_candidates(self.execute(statement, parameters))


def build_candidates(rows: Sequence[tuple[Any, ...]]) -> list[Candidate]:
    """Rows of ``SELECT_ENTRIES`` as candidates; the description is read for the few that are shown."""
    return [
        Candidate(row_id, part_number, maker, "", frozenset(tokens.split()))
        for row_id, part_number, maker, tokens in rows
    ]
