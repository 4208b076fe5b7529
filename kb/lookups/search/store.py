"""Candidates out of a database: the statements that both kinds share, with their own marks for parameters.

Statements go straight to the driver: a look-up sends several, and each would cost more on its way through
the statement compiler than in the database.
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import Any

from kb.rules.match.tokens import Candidate, Vocabulary, collect_vocabulary
from kb.tables.look_up import KeyKind

_COLUMNS = "e.id, coalesce(p.part_number, g.designation, g.engine), coalesce(m.maker, ''), e.tokens"
_JOINS = (
    " LEFT JOIN part p ON p.id = e.id / 2 AND e.id % 2 = 0"
    " LEFT JOIN maker m ON m.id = p.maker_id"
    " LEFT JOIN engine g ON g.id = e.id / 2 AND e.id % 2 = 1"
)
SELECT_ENTRIES = f"SELECT {_COLUMNS} FROM look_up_entry e{_JOINS}"  # noqa: S608 - constant text
_SELECT_BY_KEY = f"SELECT {_COLUMNS} FROM look_up_key k JOIN look_up_entry e ON e.id = k.entry_id{_JOINS}"  # noqa: S608
_LAST_CHARACTER = "\U0010ffff"


class Store(ABC):
    """A ``kb.rules.match.store.CandidateStore`` over a driver's connection."""

    mark: str
    """How the driver writes a parameter."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection

    @abstractmethod
    def execute(self, statement: str, parameters: Sequence[Any]) -> list[tuple[Any, ...]]:
        """Rows of a statement written with this database's marks."""

    @abstractmethod
    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""

    def list_marks(self, count: int) -> str:
        """Marks for a list of parameters.

        Args:
            count: how many, at least 1.
        """
        return ", ".join([self.mark] * count)

    def find_by_key(self, keys: Sequence[str], *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key is one of the keys."""
        return self._find_equal(KeyKind.PLAIN, keys, limit)

    def find_by_key_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key begins with ``start``."""
        return self._find_start(KeyKind.PLAIN, start, limit)

    def find_by_look_alike(self, key: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose look-alike key is ``key``; it is stored only where it differs from the plain one."""
        plain = self._find_equal(KeyKind.PLAIN, [key], limit)
        return [*plain, *self._find_equal(KeyKind.LOOK_ALIKE, [key], limit)][:limit]

    def find_by_reversed_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose reversed part-number key begins with ``start``."""
        return self._find_start(KeyKind.REVERSED, start, limit)

    def get_vocabulary(self) -> Vocabulary:
        """Words, codes and makers of the stored rows."""
        return collect_vocabulary(self.execute("SELECT field, term, count FROM look_up_term", ()))

    def get_versions(self) -> tuple[int, int]:
        """Counters of the vocabulary and of the trade names."""
        ((terms, names),) = self.execute("SELECT terms_version, names_version FROM look_up_state", ())
        return terms, names

    def _find_equal(self, kind: KeyKind, keys: Sequence[str], limit: int) -> list[Candidate]:
        if not keys:
            return []
        statement = (
            f"{_SELECT_BY_KEY} WHERE k.kind = {kind:d} AND k.key IN ({self.list_marks(len(keys))})"
            f" ORDER BY k.key, k.entry_id LIMIT {limit:d}"
        )
        return build_candidates(self.execute(statement, keys))

    def _find_start(self, kind: KeyKind, start: str, limit: int) -> list[Candidate]:
        statement = (
            f"{_SELECT_BY_KEY} WHERE k.kind = {kind:d} AND k.key >= {self.mark} AND k.key < {self.mark}"
            f" ORDER BY k.key, k.entry_id LIMIT {limit:d}"
        )
        return build_candidates(self.execute(statement, (start, start + _LAST_CHARACTER)))


def build_candidates(rows: Sequence[tuple[Any, ...]]) -> list[Candidate]:
    """Rows of ``SELECT_ENTRIES`` as candidates; the description is read for the few that are shown."""
    return [
        Candidate(row_id, part_number, maker, "", frozenset(tokens.split()))
        for row_id, part_number, maker, tokens in rows
    ]
