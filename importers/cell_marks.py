"""What is known of single cells of a workbook besides their values: that they are computed, how they show."""

from collections.abc import Sequence
from typing import NamedTuple

from importers.number_formats import NumberFormat

# Cells merged downwards in one column: column, first row, last row. A merged title is none.
Merged = tuple[int, int, int]
MOST_MERGED = 20_000


class CellMarks(NamedTuple):
    """Formulas and telling number formats by column and row, both counted from 0; cells merged downwards."""

    formulas: dict[int, dict[int, str]]
    formats: dict[int, dict[int, NumberFormat]]
    merged: Sequence[Merged] = ()

    def add_formula(self, column: int, row: int, formula: str) -> None:
        """Note a computed cell."""
        self.formulas.setdefault(column, {})[row] = formula

    def add_format(self, column: int, row: int, number_format: NumberFormat) -> None:
        """Note the format of a cell."""
        self.formats.setdefault(column, {})[row] = number_format


def count_letters(place: str) -> int:
    """Number of a column, from 0, by its letters.

    Example:
        >>> count_letters("A1"), count_letters("AB12")
        (0, 27)
    """
    column = 0
    for letter in place:
        if not letter.isalpha():
            break
        column = column * 26 + ord(letter.upper()) - 64
    return column - 1
