"""Rows of an open file on their way to the loader: many at a time, line by line or column by column."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from importers.limits import UnreadableFile

ROWS_PER_GROUP = 10_000

RawRow = tuple[int, list[str]]


@dataclass(frozen=True, slots=True)
class ColumnGroup:
    """Cells of some lines, column by column.

    Args:
        lines: line numbers.
        columns: texts of each column, one per line.
    """

    lines: Sequence[int]
    columns: Sequence[Sequence[str]]

    def build_rows(self) -> list[RawRow]:
        """The same line by line."""
        return list(zip(self.lines, map(list, zip(*self.columns, strict=True)), strict=True))


RowGroup = ColumnGroup | list[RawRow]


def build_columns(rows: list[RawRow]) -> ColumnGroup | None:
    """The lines column by column; None when they are not all equally wide.

    Example:
        >>> build_columns([(2, ["A", "1"]), (3, ["B", "2"])]).columns
        [('A', 'B'), ('1', '2')]
    """
    if not rows:
        return None
    lines, cells = zip(*rows, strict=True)
    if len(set(map(len, cells))) != 1:
        return None
    return ColumnGroup(lines, list(zip(*cells, strict=True)))


def list_rows(group: RowGroup) -> list[RawRow]:
    """The lines of a group, whichever way it came."""
    return group if isinstance(group, list) else group.build_rows()


def split_rows(rows: Iterator[RawRow]) -> Iterator[RowGroup]:
    """Groups of lines; those before a line that cannot be read come first."""
    group: list[RawRow] = []
    try:
        for row in rows:
            group.append(row)
            if len(group) == ROWS_PER_GROUP:
                yield group
                group = []
    except UnreadableFile:
        if group:
            yield group
        raise
    if group:
        yield group
