"""Rows of a planned file as the loader takes them: what is no row of the table is left out and said."""

from collections.abc import Iterator

from importers.layout import RawRow, fold_heading, is_total
from importers.plan import Plan
from importers.table import RawTable
from kb.edits.notices import NoticeList
from kb.edits.problem import Notice, shorten

_TOTAL_BEGINNINGS = frozenset({"tot", "sum", "sub", "gra", "zwi", "ges", "som"})


class MappedRows:
    """The rows below the heading of a planned file.

    Args:
        plan: how the file is read.
        table: the open file.
        rows: its rows, from the first.
        notices: where rows that are left out are noted.
    """

    def __init__(self, plan: Plan, table: RawTable, rows: Iterator[RawRow], notices: NoticeList) -> None:
        self.heading = plan.column_names
        self._plan = plan
        self._table = table
        self._rows = rows
        self._notices = notices
        self._width = len(self.heading)
        required = {column.name for column in plan.sheet.columns if column.required}
        self._required = [place for place, name in enumerate(self.heading) if name in required]
        mapped = [place for place, name in enumerate(self.heading) if name]
        self._key = (self._required or mapped or [0])[0]
        self._last_mapped = max(mapped, default=0)
        self._folded = [fold_heading(text) for text in plan.layout.heading]
        self._lower = [fold_heading(text) for text in plan.layout.lower]

    @property
    def bytes_read(self) -> int:
        """Bytes read so far."""
        return self._table.bytes_read

    def read_rows(self) -> Iterator[RawRow]:
        """Line number and cells of every row of the table."""
        width, key, last_line = self._width, self._key, self._plan.layout.last_line
        key_heading = self._plan.layout.heading[key]
        for line, raw in self._rows:
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
        if is_total(cells):
            return "sums up other rows"
        folded = [fold_heading(cell) for cell in cells]
        if folded in (self._folded, self._lower):
            return "repeats the heading"
        if len(filled) == 1 and len(self._required) > 0 and filled[0] not in self._required:
            return "holds a single text"
        return None

    def _note(self, line: int, cells: list[str], why: str) -> None:
        if why:
            text = shorten(" ".join(cell.strip() for cell in cells if cell.strip()))
            self._notices.add(Notice(line, "left_out", None, text, f"The line {why} and was left out."))
