"""Ids of parts by maker and part number, looked up many at a time.

A part is meant when its number is given exactly, or else when its letters and digits are and no other
part of that maker shares them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kb.edits.bulk import build_in_question
from kb.notation.part_number import part_number_key
from kb.rules.nearest import format_nearest
from kb.tables.columns import get_table

KEYS_PER_QUESTION = 10_000


@dataclass(frozen=True, slots=True)
class KnownPart:
    """A stored part."""

    id: int
    part_number: str
    part_type: str


class PartIndex:
    """The stored parts that a group of rows may mean."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._found: list[tuple[int, int, str, str, str]] = []
        self._by_key: dict[tuple[int, str], list[KnownPart]] = {}
        self._ids: dict[tuple[int, str], int] = {}
        self._keys: dict[str, str] = {}

    def read(self, part_numbers: Iterable[str]) -> None:
        """Look up all parts whose letters and digits are those of the given numbers; forgets earlier ones."""
        self._by_key = {}
        self._keys = {number: part_number_key(number) for number in set(part_numbers)}
        self.read_again()

    def read_again(self) -> None:
        """Look up the same numbers once more, after parts were added."""
        self._by_key = {}
        table = get_table("part")
        columns = (
            table.c.id,
            table.c.maker_id,
            table.c.part_number,
            table.c.part_number_key,
            table.c.part_type,
        )
        self._found = []
        question = build_in_question(self._connection, select(*columns), table.c.part_number_key)
        for keys in _split(sorted(set(self._keys.values()))):
            self._found.extend(question(keys))
        self._ids = {(row[1], row[2]): row[0] for row in self._found}

    def _list_by_key(self, maker_id: int, part_number: str) -> list[KnownPart]:
        """Parts of a maker that share letters and digits; sorted out when first asked for."""
        if not self._by_key:
            for row_id, maker, number, key, part_type in sorted(self._found):
                self._by_key.setdefault((maker, key), []).append(KnownPart(row_id, number, part_type))
        return self._by_key.get((maker_id, self._keys[part_number]), [])

    def add_number(self, part_number: str) -> None:
        """Let a further spelling of a number that was looked up be asked for."""
        self._keys[part_number] = part_number_key(part_number)

    def get_key(self, part_number: str) -> str:
        """Letters and digits of a number that was looked up."""
        return self._keys[part_number]

    def find_exact(self, maker_id: int, part_number: str) -> KnownPart | None:
        """The part with exactly this number."""
        if (maker_id, part_number) not in self._ids:
            return None
        return next(p for p in self._list_by_key(maker_id, part_number) if p.part_number == part_number)

    def find_exact_id(self, maker_id: int, part_number: str) -> int | None:
        """Id of the part with exactly this number."""
        return self._ids.get((maker_id, part_number))

    def list_likely(self, maker_id: int, part_number: str) -> list[KnownPart]:
        """The exact part alone, else all parts of the maker that differ only in case and punctuation."""
        exact = self.find_exact(maker_id, part_number)
        if exact is not None:
            return [exact]
        return list(self._list_by_key(maker_id, part_number))

    def format_nearest(self, maker_id: int, part_number: str) -> str:
        """Half a sentence with the nearest part numbers of the maker."""
        table = get_table("part")
        numbers = self._connection.execute(select(table.c.part_number).where(table.c.maker_id == maker_id))
        return format_nearest(part_number, numbers.scalars())


def _split(keys: list[str]) -> Iterator[list[str]]:
    for start in range(0, len(keys), KEYS_PER_QUESTION):
        yield keys[start : start + KEYS_PER_QUESTION]
