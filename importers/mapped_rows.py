"""Rows of a planned file as the loader takes them: what is no row of the table is left out and said."""

from collections.abc import Iterator

from importers.layout import fold_heading, is_total
from importers.plan import Plan
from importers.row_groups import ColumnGroup, RawRow, RowGroup, build_columns, list_rows
from importers.table import RawTable
from kb.edits.notices import NoticeList
from kb.edits.problem import Notice, shorten

_NAMING = frozenset({"part_number", "engine", "supplier_sku"})
_TOTAL_BEGINNINGS = frozenset({"tot", "sum", "sub", "gra", "zwi", "ges", "som"})


class MappedRows:
    """The rows below the heading of a planned file.

    Args:
        plan: how the file is read.
        table: the open file.
        groups: its rows, from the first.
        notices: where rows that are left out are noted.
    """

    def __init__(self, plan: Plan, table: RawTable, groups: Iterator[RowGroup], notices: NoticeList) -> None:
        self.heading = plan.column_names
        self._plan = plan
        self._table = table
        self._groups = groups
        self._notices = notices
        self._width = len(self.heading)
        required = {column.name for column in plan.sheet.columns if column.required}
        self._required = [place for place, name in enumerate(self.heading) if name in required]
        mapped = [place for place, name in enumerate(self.heading) if name]
        naming = [place for place in self._required if self.heading[place] in _NAMING]
        self._key = (naming or self._required or mapped or [0])[0]
        self._last_mapped = max(mapped, default=0)
        self._folded = [fold_heading(text) for text in plan.layout.heading]
        self._lower = [fold_heading(text) for text in plan.layout.lower]

    @property
    def bytes_read(self) -> int:
        """Bytes read so far."""
        return self._table.bytes_read

    def read_groups(self) -> Iterator[RowGroup]:
        """Line numbers and cells of every row of the table, many at a time."""
        for group in self._groups:
            whole = group if isinstance(group, ColumnGroup) else build_columns(group)
            columns = None if whole is None else self._read_columns(whole)
            if columns is not None:
                yield columns
            elif rows := list(self._list_table_rows(list_rows(group))):
                yield rows

    def _read_columns(self, group: ColumnGroup) -> ColumnGroup | None:
        """The group when all its rows are rows of the table; None when they must be looked at one by one."""
        width = self._width
        if group.lines[0] <= self._plan.layout.last_line or len(group.columns) < width:
            return None
        if any(map(any, group.columns[width:])):
            return None
        keys = set(group.columns[self._key])
        if "" in keys or self._plan.layout.heading[self._key] in keys or any(map(str.isspace, keys)):
            return None
        if not _TOTAL_BEGINNINGS.isdisjoint(map(str.lower, {text[:3] for text in keys})):
            return None
        return ColumnGroup(group.lines, group.columns[:width])

    def _list_table_rows(self, rows: list[RawRow]) -> Iterator[RawRow]:
        width, key, last_line = self._width, self._key, self._plan.layout.last_line
        key_heading = self._plan.layout.heading[key]
        for line, raw in rows:
            if line <= last_line:
                continue
            cells = raw
            if len(cells) != width:
                cells = self._fit_width(raw)
                if len(cells) <= key:
                    if any(cell.strip() for cell in cells):
                        yield line, cells
                    continue
            text = cells[key]
            if not text or text.isspace() or text[:3].lower() in _TOTAL_BEGINNINGS or text == key_heading:
                why = self._find_reason(cells)
                if why is not None:
                    self._note(line, cells, why)
                    continue
            yield line, cells

    def _fit_width(self, cells: list[str]) -> list[str]:
        """The cells without empty ones behind the table; filled up where nothing mapped is missing."""
        cells = list(cells)
        while len(cells) > self._width and not cells[-1].strip():
            cells.pop()
        if len(cells) < self._width and (len(cells) > self._last_mapped or not any(c.strip() for c in cells)):
            cells += [""] * (self._width - len(cells))
        return cells

    def _find_reason(self, cells: list[str]) -> str | None:
        """Why cells are no row of the table; empty for a blank row; None when they are a row."""
        filled = [place for place, cell in enumerate(cells) if cell.strip()]
        if not filled:
            return ""
        is_incomplete = any(place not in filled for place in self._required)
        if is_total(cells, starts_only=is_incomplete) and (is_incomplete or len(self._required) < 2):
            return "sums up other rows"
        folded = [fold_heading(cell) for cell in cells]
        if folded in (self._folded, self._lower):
            return "repeats the heading"
        if len(filled) == 1 and self._required and self._is_no_key(filled[0]):
            return "holds a single text"
        return None

    def _is_no_key(self, place: int) -> bool:
        """Whether a text that stands alone here names nothing: a remark across the page, say."""
        if place not in self._required:
            return True
        return place == 0 and len(self._required) > 1 and self.heading[0] not in _NAMING

    def _note(self, line: int, cells: list[str], why: str) -> None:
        if why:
            text = shorten(" ".join(cell.strip() for cell in cells if cell.strip()))
            self._notices.add(Notice(line, "left_out", None, text, f"The line {why} and was left out."))
