"""How the rows of a kind of sheet land in a table: which columns name a row, which refer to others."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.edits.problem import Notice

if TYPE_CHECKING:
    from kb.edits.catalogue import SheetEdit

Values = dict[str, Any]


class InputRow(NamedTuple):
    """Checked values of one line of a file, by column name."""

    line: int
    values: Values


@dataclass(frozen=True, slots=True)
class InputColumns:
    """Checked values of many lines of a file, column by column.

    Args:
        lines: line numbers.
        columns: for each column its values, one per line.
        notices: what is worth knowing of some lines, told once they are written.
    """

    lines: Sequence[int]
    columns: dict[str, Sequence[Any]]
    notices: Sequence[Notice] = ()

    def build_rows(self, count: int | None = None) -> list[InputRow]:
        """The same values row by row, or the first rows of them."""
        names = tuple(self.columns)
        rows = zip(self.lines[:count], zip(*self.columns.values(), strict=True), strict=False)
        return [InputRow(line, dict(zip(names, values, strict=True))) for line, values in rows]


@dataclass(frozen=True, slots=True, kw_only=True)
class NameReference:
    """A column that names a row of another table.

    Args:
        column: the column with the name; replaced by ``id_column``.
        table: the table referred to.
        noun: what the row is called in messages.
        on_demand: make the row when it does not exist.
    """

    column: str
    id_column: str
    table: str
    noun: str
    on_demand: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReference:
    """Two columns, maker and part number, that name a part; replaced by ``id_column``."""

    maker: str = "maker"
    part_number: str = "part_number"
    id_column: str = "part_id"


RowHook = Callable[["SheetEdit", list[InputRow]], list[InputRow]]
ColumnHook = Callable[["SheetEdit", InputColumns], InputColumns | None]
FinishHook = Callable[["SheetEdit"], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Where rows land.

    Args:
        table: name of the stored table.
        identity: columns that together name one row, as in the table's UNIQUE constraint.
        probe: the identity column by which stored rows are looked up, many at a time.
        values: columns besides the identity that are compared and written.
        names: references by name, resolved in this order.
        parts: references to parts.
        prepare: turns resolved rows into table rows, dropping those it refuses.
        prepare_columns: does the same to columns; None when a row needs a closer look. Only for tables that
            the look-up's index does not follow.
        finish: looks at the sheet as a whole after its last row.
        close: what is told or counted once for the sheet; unlike ``finish`` it is given no rows.
        sparse: values of which the file says nothing: stored ones stay.
    """

    table: str
    identity: tuple[str, ...]
    probe: str
    values: tuple[str, ...]
    names: tuple[NameReference, ...] = ()
    parts: tuple[PartReference, ...] = ()
    prepare: RowHook | None = None
    prepare_columns: ColumnHook | None = None
    finish: FinishHook | None = None
    close: FinishHook | None = None
    sparse: tuple[str, ...] = ()


SOURCE = NameReference(column="source", id_column="source_id", table="source", noun="Source")
ENGINE = NameReference(column="engine", id_column="engine_id", table="engine", noun="Engine")


def build_getter(columns: Sequence[str]) -> Callable[[Values], tuple[Any, ...]]:
    """Function that takes the values of some columns out of a row, always as a tuple.

    Example:
        >>> build_getter(["a"])({"a": 1, "b": 2})
        (1,)
    """
    if not columns:
        return lambda _values: ()
    if len(columns) == 1:
        only = columns[0]
        return lambda values: (values[only],)
    return itemgetter(*columns)
