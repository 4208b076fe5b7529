"""What a kind of sheet is: its file, its columns, what must hold within a row, and where rows land."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from importers.columns import Column, Name, PartNumber, Text
from kb.edits.target import Target, Values

RowCheck = Callable[[Values], Iterator[tuple[str, str]]]
Columns = dict[str, Sequence[Any]]
ColumnDeriver = Callable[[Columns], Columns | None]
RowDeriver = Callable[[int, Values], Iterator[tuple[str, str]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A kind of sheet.

    Args:
        kind: name of the kind; the file in a catalogue folder is ``kind.csv``.
        columns: in the order of the documentation.
        target: where rows land.
        check: yields a column and a sentence for each thing wrong among the values of one row.
        derive: fills in values of a row (given with its line) from others, before the check; yields like it.
        derives_from: deriving concerns only values of this type and notes nothing; None: any row, once only.
        derive_columns: the same for many rows at once; None when they must be looked at one by one.
        constants: values that hold for every row whose cell is empty.
    """

    kind: str
    columns: tuple[Column, ...]
    target: Target
    check: RowCheck | None = None
    derive: RowDeriver | None = None
    derives_from: type | None = None
    derive_columns: ColumnDeriver | None = None
    constants: Values = field(default_factory=dict)

    @property
    def file_name(self) -> str:
        """Name of the file in a catalogue folder."""
        return f"{self.kind}.csv"


ENGINE_COLUMN = Column("engine", Name(), required=True)
SOURCE_COLUMN = Column("source", Name())
MAKER_COLUMN = Column("maker", Name(), required=True)
PART_NUMBER_COLUMN = Column("part_number", PartNumber(), required=True)
NOTE = Text()
WORDS = Text(limit=200, line_ends=False)


def check_order(values: Values, *columns: str) -> Iterator[tuple[str, str]]:
    """Refuse known values of which a later one is below an earlier one."""
    known = [(column, values[column]) for column in columns if values[column] is not None]
    for (low_column, low), (high_column, high) in pairwise(known):
        if high < low:
            yield (
                high_column,
                f"{high_column} {high:g} is below {low_column} {low:g}; check both values.",
            )
