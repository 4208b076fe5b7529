"""Days stated as a range, "2-3 weeks", kept as their longer end: who counts on it is not let down.

Source: common practice, no source.
"""

from collections.abc import Sequence
from typing import Any, Self

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Notice, shorten
from kb.edits.target import InputRow


class LongerEnd(int):
    """The longer end of a range; ``said`` is the range as it stood."""

    said: str

    def __new__(cls, value: int, said: str) -> Self:
        """A number that still knows the range."""
        number = super().__new__(cls, value)
        number.said = said
        return number


def note_longer_ends(sheet: SheetEdit, rows: list[InputRow], column: str) -> None:
    """Put plain numbers in a column of rows, and tell what was read from a range."""
    for row in rows:
        value = row.values[column]
        if type(value) is LongerEnd:
            row.values[column] = int(value)
            sheet.note(_explain(row.line, column, value))


def list_longer_ends(lines: Sequence[int], values: Sequence[Any], column: str) -> list[Notice]:
    """What there is to tell of the ranges among the values of a column."""
    if LongerEnd not in set(map(type, values)):
        return []
    pairs = zip(lines, values, strict=True)
    return [_explain(line, column, value) for line, value in pairs if type(value) is LongerEnd]


def _explain(line: int, column: str, value: LongerEnd) -> Notice:
    said = shorten(value.said)
    return Notice(line, "assumed", column, said, f"'{said}' was read as {int(value)} days, the longer end.")
