"""What a database has to offer to the look-up.

Tokens are plain a-z and 0-9, so they need no quoting in a full-text index. Every call returns rows
in a stable order and at most ``limit`` of them.
"""

from collections.abc import Sequence
from typing import Protocol

from kb.rules.match.tokens import Candidate, Vocabulary


class CandidateStore(Protocol):
    """Rows by exact tokens, and by keys of their part numbers."""

    def fetch(self, groups: Sequence[Sequence[str]], *, limit: int) -> Sequence[Candidate]:
        """Rows that have at least one token of every group."""

    def find_by_key(self, keys: Sequence[str], *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key is one of the keys."""

    def find_by_key_start(self, start: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose part-number key begins with ``start``."""

    def find_by_look_alike(self, key: str, *, limit: int) -> Sequence[Candidate]:
        """Rows whose look-alike key is ``key``."""

    def list_keys(
        self, starts: Sequence[str], reversed_start: str, *, limit: int
    ) -> Sequence[tuple[int, str]]:
        """Row ids and keys: those beginning with one of the starts, or reversed with the reversed start."""

    def get_rows(self, row_ids: Sequence[int]) -> Sequence[Candidate]:
        """Rows by their ids, in order of their ids."""

    def get_vocabulary(self) -> Vocabulary:
        """Words, codes and makers of the stored rows."""
