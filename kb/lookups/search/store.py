"""Candidates out of a database: the statements that both kinds share, with their own marks for parameters.

Statements go straight to the driver: a look-up sends several, and each would cost more on its way through
the statement compiler than in the database.
"""

from abc import ABC, abstractmethod
from collections.abc import Container, Iterable, Sequence
from operator import itemgetter
from typing import Any

from kb.rules.match.tokens import Ahead, Candidate, Vocabulary, build_candidate, collect_vocabulary
from kb.tables.look_up import KeyKind

SELECT_ENTRIES = "SELECT e.id, e.tokens FROM look_up_entry e"
FROM_KEYS = "FROM look_up_key k JOIN look_up_entry e ON e.id = k.entry_id"
_SELECT_BY_KEY = f"SELECT e.id, e.tokens {FROM_KEYS}"
SHOWN_PARTS = (
    "SELECT p.id AS part_id, m.maker, p.part_number, p.part_type, r.description, s.kind,"
    " (SELECT sum(l.on_hand) FROM stock_level l WHERE l.part_id = p.id) AS on_hand"
    " FROM part p JOIN maker m ON m.id = p.maker_id"
    " LEFT JOIN part_record r ON r.part_id = p.id LEFT JOIN source s ON s.id = r.source_id"
)
SELECT_TERMS = "SELECT field, term, count FROM look_up_term"
MOST_AHEAD = 1_000
KEYS_AHEAD = f"k.kind IN ({KeyKind.PLAIN:d}, {KeyKind.LOOK_ALIKE:d})"
ORDER_AHEAD = f"ORDER BY k.kind, k.key, k.entry_id LIMIT {MOST_AHEAD}"
NOTHING_AHEAD = Ahead()
LAST_CHARACTER = "\U0010ffff"
"""Sorts behind every character of a key."""


class Store(ABC):
    """A ``kb.rules.match.store.CandidateStore`` over a driver's connection."""

    mark: str
    """How the driver writes a parameter."""
    is_far = False
    """Whether a statement costs a way to a server and back, so that much is read ahead."""

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
    def get_versions(self, ahead: Ahead = NOTHING_AHEAD) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names.

        Args:
            ahead: what is likely to be asked next; as much of it is read at once as saves time.
        """

    def read_candidates(self, statement: str, parameters: Sequence[Any]) -> list[Candidate]:
        """Rows of a statement that begins like ``SELECT_ENTRIES``."""
        return build_candidates(self.execute(statement, parameters))

    def list_shown_parts(self, part_ids: Sequence[int]) -> list[tuple[Any, ...]]:
        """What is shown of parts, columns of ``SHOWN_PARTS``: a row for each record of a part."""
        if not part_ids:
            return []
        condition, parameters = self.list_in("p.id", part_ids)
        return self.execute(f"{SHOWN_PARTS} WHERE {condition}", parameters)

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
        wanted = self._leave_unknown_out(tokens)
        return self._list_engines_with(wanted) if wanted else []

    def _leave_unknown_out(self, tokens: Iterable[str]) -> tuple[str, ...]:
        return tuple(token for token in dict.fromkeys(tokens) if not self._is_unknown_code(token))

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
        return self.read_candidates(statement, (start, start + LAST_CHARACTER))

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
        marks = [mark for _, start in asked for mark in (start, start + LAST_CHARACTER)]
        found = self.execute(statement, marks)
        return [(row_id, get_plain_key(kind, key)) for kind, row_id, key in found]

    def get_rows(self, row_ids: Sequence[int]) -> Sequence[Candidate]:
        """Rows by their ids, in order of their ids."""
        if not row_ids:
            return []
        condition, parameters = self.list_in("e.id", row_ids)
        return self.read_candidates(f"{SELECT_ENTRIES} WHERE {condition} ORDER BY e.id", parameters)

    def get_vocabulary(self) -> Vocabulary:
        """Words, codes and makers of the stored rows."""
        return collect_vocabulary(self.execute(SELECT_TERMS, ()))

    def _keep_ahead(self, keys: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
        """Keep rows read ahead: kind, key, then the columns of a candidate; not where some were cut off."""
        if len(rows) >= MOST_AHEAD:
            return
        self._ahead = {key: [] for key in keys}
        for kind, key, row_id, tokens in rows:
            self._ahead[key].append((kind, *build_candidates([(row_id, tokens)])))

    def _find_equal(self, kinds: Sequence[KeyKind], keys: Sequence[str], limit: int) -> list[Candidate]:
        """Rows by equal keys, from those read ahead where all of the keys were."""
        if all(key in self._ahead for key in keys):
            ahead = [(kind, key, row) for key in keys for kind, row in self._ahead[key] if kind in kinds]
            ahead.sort(key=itemgetter(0, 1))
            return [row for _, _, row in ahead[:limit]]
        condition, parameters = self.list_in("k.key", keys)
        listed = ", ".join(f"{kind:d}" for kind in kinds)
        statement = (
            f"{_SELECT_BY_KEY} WHERE k.kind IN ({listed}) AND {condition}"
            f" ORDER BY k.kind, k.key, k.entry_id LIMIT {limit:d}"
        )
        return self.read_candidates(statement, parameters)


def get_plain_key(kind: int, key: str) -> str:
    """The key as its part number is read."""
    return key[::-1] if kind == KeyKind.REVERSED else key


def build_candidates(rows: Iterable[tuple[Any, ...]]) -> list[Candidate]:
    """Rows of ``SELECT_ENTRIES`` as candidates; what they show is read for the few that are shown."""
    return [build_candidate(row_id, tokens) for row_id, tokens in rows]
