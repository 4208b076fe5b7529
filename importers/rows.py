"""One line of a file turned into checked values, or into problems."""

from collections.abc import Iterable, Sequence
from typing import Any

from importers.columns import Column
from importers.limits import Limits, UnreadableFile
from importers.row_groups import ColumnGroup, RowGroup, build_columns
from importers.sheets.sheet import Sheet
from kb.edits.problem import Problem, shorten
from kb.edits.target import InputColumns, InputRow, Values
from kb.errors import BadInput
from kb.rules.nearest import find_nearest

# Many cells of a column repeat; what was read once is not read again.
REMEMBERED_CELLS = 10_000
_MISSING: Any = object()


def check_heading(heading: Sequence[str], sheet: Sheet) -> list[Problem]:
    """Problems of a heading: unknown columns, named with the nearest known one.

    Raises:
        UnreadableFile: a column stands twice or a needed one is missing, so that no row can be read.
    """
    known = [column.name for column in sheet.columns]
    doubled = sorted({name for name in heading if name and heading.count(name) > 1})
    if doubled:
        raise UnreadableFile(f"Column '{shorten(doubled[0])}' stands twice in the heading; keep one.", line=1)
    missing = [column for column in sheet.columns if column.required and column.name not in heading]
    if missing:
        listed = ", ".join(f"'{column.name}'" for column in missing)
        remedies = "".join(f"; in '{c.name}' write {c.remedy}" for c in missing if c.remedy)
        raise UnreadableFile(
            f"The heading lacks {listed}; {sheet.file_name} has the columns {', '.join(known)}{remedies}.",
            line=1,
        )
    return [_explain_column(name, known) for name in heading if name not in known]


def _explain_column(name: str, known: list[str]) -> Problem:
    if not name:
        return Problem(1, None, "", "A column has no name in the heading; name it or remove it.")
    nearest = find_nearest(name, known, limit=1)
    meant = f"the nearest is '{nearest[0]}'" if nearest else f"known are {', '.join(known)}"
    return Problem(1, shorten(name), shorten(name), f"Column '{shorten(name)}' is not known here; {meant}.")


class RowReader:
    """Reads the rows of one file of a sheet."""

    def __init__(self, heading: Sequence[str], sheet: Sheet, limits: Limits) -> None:
        self._sheet = sheet
        self._limits = limits
        self._width = len(heading)
        self._empty: Values = {column.value_name: None for column in sheet.columns} | sheet.constants
        by_name = {column.name: column for column in sheet.columns}
        self._plan: list[tuple[int, str, dict[str, Any], Column]] = [
            (index, by_name[name].value_name, {}, by_name[name])
            for index, name in enumerate(heading)
            if name in by_name
        ]
        # Kinds of values met so far in fixed values and in cells that are not plain.
        self._kinds: set[type] = set(map(type, self._empty.values()))
        self._required = [column for column in sheet.columns if column.required]

    def read_group(self, group: RowGroup) -> InputColumns | list[InputRow] | None:
        """Checked values of many rows, read column by column; None when one of them needs a closer look."""
        sheet = self._sheet
        if sheet.derive is not None and sheet.derives_from is None:
            return None
        lines, columns = self._list_columns(group)
        if len(columns) != self._width:
            return None
        lists: dict[str, Sequence[Any]] = {name: [value] * len(lines) for name, value in self._empty.items()}
        for index, value_name, remembered, column in self._plan:
            values = self._read_column(columns[index], remembered, column)
            if values is None or (column.required and None in values):
                return None
            if value_name not in sheet.constants:
                lists[value_name] = values
            elif values.count(None) != len(values):
                return None  # cells and a value for all rows: which of them holds is seen row by row
        mapped = {column.name for _index, _name, _remembered, column in self._plan}
        if any(c.name not in mapped and self._empty[c.value_name] is None for c in self._required):
            return None
        return self._check_group(InputColumns(lines, lists))

    def _list_columns(self, group: RowGroup) -> tuple[Sequence[int], Sequence[Sequence[str]]]:
        """Line numbers and columns of a group; none when rows are not as wide as the heading."""
        columns = group if isinstance(group, ColumnGroup) else build_columns(group)
        return ([], ()) if columns is None else (columns.lines, columns.columns)

    def _check_group(self, group: InputColumns) -> InputColumns | list[InputRow] | None:
        """The group when nothing is wrong within its rows; as rows where they had to be looked at."""
        is_derived = self._is_derived_from(group.columns)
        if is_derived and self._sheet.derive_columns is not None:
            derived = self._sheet.derive_columns(group.columns)
            if derived is not None:
                group, is_derived = InputColumns(group.lines, derived), False
        if not is_derived and self._sheet.check is None:
            return group
        rows = group.build_rows()
        if is_derived and any(map(self._finds_derived_fault, rows)):
            return None
        return None if self._sheet.check is not None and any(map(self._finds_fault, rows)) else rows

    def _is_derived_from(self, columns: dict[str, Sequence[Any]]) -> bool:
        kind = self._sheet.derives_from
        return kind in self._kinds and any(kind in set(map(type, values)) for values in columns.values())

    def _read_column(
        self, texts: Sequence[str], remembered: dict[str, Any], column: Column
    ) -> Sequence[Any] | None:
        read_many = getattr(column.cell, "read_many", None)
        values: Sequence[Any] | None = read_many(texts) if read_many is not None else None
        if values is not None:
            self._kinds.add(type(values[0]))
            return values
        return self._read_cells(texts, remembered, column)

    def _read_cells(
        self, texts: Sequence[str], remembered: dict[str, Any], column: Column
    ) -> list[Any] | None:
        if len(remembered) > REMEMBERED_CELLS:
            remembered.clear()
        remembered[""] = None
        problems: list[Problem] = []
        new = set(texts).difference(remembered)
        plain, read_plain = getattr(column.cell, "plain", None), getattr(column.cell, "read_plain", None)
        if plain is not None and read_plain is not None:
            values = {text: read_plain(text) for text in new if plain.fullmatch(text)}
            remembered.update(values)
            new.difference_update(values)
        for text in new:
            value = self._read_cell(text, column, 0, problems)
            if problems:
                return None
            remembered[text] = value
        return list(map(remembered.__getitem__, texts))

    def _finds_derived_fault(self, row: InputRow) -> bool:
        derive = self._sheet.derive
        return derive is not None and any(True for _ in derive(row.line, row.values))

    def _finds_fault(self, row: InputRow) -> bool:
        check = self._sheet.check
        return check is not None and any(True for _ in check(row.values))

    def read(self, line: int, cells: list[str]) -> InputRow | list[Problem]:
        """Checked values of a row, or all that is wrong with it."""
        if len(cells) != self._width:
            return [
                Problem(
                    line,
                    None,
                    None,
                    f"The row has {len(cells)} cells but the heading has {self._width}; "
                    "check commas and quotation marks.",
                )
            ]
        values = self._empty.copy()
        problems: list[Problem] = []
        for index, value_name, remembered, column in self._plan:
            cell = cells[index]
            if not cell:
                continue
            value = remembered.get(cell, _MISSING)
            if value is _MISSING:
                value = self._read_cell(cell, column, line, problems)
                if len(remembered) < REMEMBERED_CELLS and not problems:
                    remembered[cell] = value
            if value is not None:
                values[value_name] = value
        if self._sheet.derive is not None and not problems:
            problems = self._explain(line, values, self._sheet.derive(line, values))
        if not problems:
            problems = self._find_missing(line, values)
        if not problems and self._sheet.check is not None:
            problems = self._explain(line, values, self._sheet.check(values))
        return problems or InputRow(line, values)

    def _find_missing(self, line: int, values: Values) -> list[Problem]:
        for column in self._required:
            if values[column.value_name] is None:
                remedy = f": write {column.remedy}" if column.remedy else ""
                message = f"'{column.name}' is empty; this column must be filled in{remedy}."
                return [Problem(line, column.name, "", message)]
        return []

    @staticmethod
    def _explain(line: int, values: Values, found: Iterable[tuple[str, str]]) -> list[Problem]:
        return [Problem(line, name, _show(values.get(name)), message) for name, message in found]

    def _read_cell(self, cell: str, column: Column, line: int, problems: list[Problem]) -> Any:
        text = cell.strip()
        if not text:
            return None
        try:
            if len(text) > self._limits.cell_characters:
                raise BadInput(
                    f"The cell has {len(text)} characters; at most {self._limits.cell_characters} are read."
                )
            value = column.cell.parse(text)
        except BadInput as error:
            problems.append(Problem(line, column.name, shorten(text), str(error)))
            return None
        self._kinds.add(type(value))
        return value


def _show(value: Any) -> str | None:
    if value is None:
        return None
    return f"{value:g}" if isinstance(value, float) else shorten(str(value))
