"""Rows of any kind of sheet compared with what is stored, then added or changed.

Rows come in groups, references by name. A row whose identity is stored with the same values is left alone;
with other values it is changed and its values before go to the batch's journal. Whatever is wrong becomes a
problem with its line; the caller takes everything back when there is one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Table, select

from kb.edits.batches import BatchOrigin, OpenBatch, lock_imports
from kb.edits.look_up_follow import IndexFollower
from kb.edits.names import NameIndex
from kb.edits.notices import NoticeList, RowChange
from kb.edits.part_index import PartIndex
from kb.edits.problem import Notice, Problem, shorten
from kb.edits.target import InputRow, NameReference, PartReference, Target, Values, build_getter
from kb.notation.part_number import explain_latin_twin, find_latin_twin
from kb.tables.columns import get_table
from kb.terms import SourceKind

SHOWN_PROBLEMS = 100
KEPT_REFUSED_LINES = 10_000


@dataclass(slots=True)
class SheetCounts:
    """How many rows of a sheet were added, changed, left alone, refused."""

    added: int = 0
    changed: int = 0
    unchanged: int = 0
    refused: int = 0


class CatalogueEdit:
    """One import under way: the batch, and what is known of names and parts."""

    def __init__(self, connection: Connection, origin: BatchOrigin) -> None:
        lock_imports(connection)
        self.connection = connection
        self.batch = OpenBatch(connection, origin)
        self.parts = PartIndex(connection)
        self.look_up = IndexFollower(connection)
        self.incomplete_tables: set[str] = set()
        self._names: dict[str, NameIndex] = {}

    def open_sheet(self, target: Target) -> "SheetEdit":
        """Start on a sheet."""
        self.look_up.watch(target.table)
        return SheetEdit(self, target)

    def get_names(self, table_name: str) -> NameIndex:
        """Names of a table, with all that this import added so far."""
        if table_name not in self._names:
            self._names[table_name] = NameIndex(self.connection, table_name)
        return self._names[table_name]

    def add_names(self, table_name: str, names: Iterable[str], **values: Any) -> None:
        """Make rows for names that are not stored yet."""
        index = self.get_names(table_name)
        missing = index.build_missing(names)
        if missing:
            self.batch.add_rows(index.table, [row | values for row in missing])
            index.refresh()

    def close(self, report_json: str) -> None:
        """Bring the look-up's index up to date and close the batch; nothing for one that wrote nothing."""
        if not self.batch.is_empty:
            self.look_up.finish(self.batch.id)
            self.batch.close(report_json)


@dataclass(slots=True)
class SheetEdit:
    """One sheet of an import under way.

    ``changes`` holds the first ``shown_changes`` rows that are added or changed; ``refused_lines`` the first
    refused lines with their first problem; ``changed_beside``, by line, what a row changes in another table,
    by name as old and new value.
    """

    edit: CatalogueEdit
    target: Target
    counts: SheetCounts = field(default_factory=SheetCounts)
    problems: list[Problem] = field(default_factory=list)
    problem_count: int = 0
    line_of: dict[Any, int] = field(default_factory=dict)
    touched: list[Values] = field(default_factory=list)
    memory: dict[str, Any] = field(default_factory=dict)
    notices: NoticeList = field(default_factory=NoticeList)
    shown_changes: int = 0
    changes: list[RowChange] = field(default_factory=list)
    changed_beside: dict[int, dict[str, tuple[Any, Any]]] = field(default_factory=dict)
    refused_lines: dict[int, str] = field(default_factory=dict)
    has_sheet_problem: bool = False
    _refused: set[int] = field(default_factory=set)

    @property
    def table(self) -> Table:
        """The table that the rows land in."""
        return get_table(self.target.table)

    @property
    def has_room(self) -> bool:
        """Whether further problems are kept one by one, not only counted."""
        return len(self.problems) < SHOWN_PROBLEMS

    def refuse(self, problem: Problem) -> None:
        """Refuse a row."""
        self._note_problem(problem)
        if problem.line not in self._refused:
            self._refused.add(problem.line)
            self.counts.refused += 1
            if len(self.refused_lines) < KEPT_REFUSED_LINES:
                self.refused_lines[problem.line] = problem.message

    def refuse_sheet(self, problem: Problem) -> None:
        """Note a problem of the sheet that is none of a single row."""
        self.has_sheet_problem = True
        self._note_problem(problem)

    def note(self, notice: Notice) -> None:
        """Tell something about a row that is not refused for it."""
        self.notices.add(notice)

    @property
    def refused_line_numbers(self) -> frozenset[int]:
        """Lines of all refused rows."""
        return frozenset(self._refused)

    def _note_problem(self, problem: Problem) -> None:
        self.edit.incomplete_tables.add(self.target.table)
        self.problem_count += 1
        if self.has_room:
            self.problems.append(problem)

    def write(self, rows: list[InputRow]) -> None:
        """Add or change a group of rows."""
        for name in self.target.names:
            rows = self._resolve_names(rows, name)
        rows = self._resolve_parts(rows)
        if self.target.prepare is not None:
            rows = self.target.prepare(self, rows)
        rows = self._refuse_repeated(rows)
        self._store(rows)

    def finish(self) -> None:
        """Look at the sheet as a whole after its last row."""
        if self.target.finish is not None:
            self.target.finish(self)
        if self.target.close is not None:
            self.target.close(self)

    def _resolve_names(self, rows: list[InputRow], reference: NameReference) -> list[InputRow]:
        column, id_column = reference.column, reference.id_column
        names = {row.values[column] for row in rows}
        if reference.on_demand:
            met = dict.fromkeys(row.values[column] for row in rows)  # each once, in the order met
            self.edit.add_names(reference.table, [name for name in met if name is not None])
        if reference.table == "source" and None in names:
            self.edit.add_names("source", [""], kind=str(SourceKind.NOT_STATED))
        index = self.edit.get_names(reference.table)
        ids = {name: index.find_id(name) for name in names if name is not None}
        if reference.table == "source":
            ids[None] = index.find_id("")
        resolved = []
        for row in rows:
            name = row.values.pop(column)
            row_id = ids.get(name)
            if row_id is None and name is not None:
                self._refuse_name(row, reference, name)
                continue
            row.values[id_column] = row_id
            resolved.append(row)
        return resolved

    def _refuse_name(self, row: InputRow, reference: NameReference, name: str) -> None:
        message = f"{reference.noun} '{shorten(name)}' is not in the catalogue; "
        if reference.table in self.edit.incomplete_tables:
            message += "rows of its own file were refused; correct those first."
        elif self.has_room:
            message += self.edit.get_names(reference.table).format_nearest(name) + "."
        self.refuse(Problem(row.line, reference.column, shorten(name), message))

    def _resolve_parts(self, rows: list[InputRow]) -> list[InputRow]:
        if not self.target.parts:
            return rows
        self.edit.parts.read(row.values[part.part_number] for part in self.target.parts for row in rows)
        for part in self.target.parts:
            rows = [row for row in rows if self._resolve_part(row, part)]
        return rows

    def _resolve_part(self, row: InputRow, reference: PartReference) -> bool:
        maker = row.values.pop(reference.maker)
        number = row.values.pop(reference.part_number)
        makers: dict[str, int | None] = self.memory.setdefault("makers", {})
        maker_id = makers[maker] if maker in makers else self._find_maker(maker, makers)
        if maker_id is not None:
            part_id = self.edit.parts.find_exact_id(maker_id, number)
            if part_id is not None:
                row.values[reference.id_column] = part_id
                return True
        if maker_id is None:
            self._refuse_name(
                row, NameReference(column=reference.maker, id_column="", table="maker", noun="Maker"), maker
            )
            return False
        likely = self.edit.parts.list_likely(maker_id, number)
        if len(likely) != 1:
            message = self._explain_part(maker_id, number, [part.part_number for part in likely])
            self.refuse(Problem(row.line, reference.part_number, shorten(number), message))
            return False
        row.values[reference.id_column] = likely[0].id
        return True

    def _find_maker(self, maker: str, makers: dict[str, int | None]) -> int | None:
        """Id of a maker; the next rows find it by its spelling."""
        makers[maker] = self.edit.get_names("maker").find_id(maker)
        return makers[maker]

    def _explain_part(self, maker_id: int, number: str, likely: Sequence[str]) -> str:
        shown = shorten(number)
        twin = find_latin_twin(number)
        if twin is not None:
            return f"{explain_latin_twin(shown, shorten(twin))} and is not in the catalogue; type it again."
        if likely:
            listed = ", ".join(f"'{part_number}'" for part_number in likely[:5])
            return f"Part number '{shown}' may mean {listed}; write it exactly as in parts.csv."
        if "part_record" in self.edit.incomplete_tables:
            return f"Part '{shown}' is not in the catalogue; rows of parts.csv were refused; correct those."
        if not self.has_room:
            return f"Part '{shown}' is not in the catalogue."
        return f"Part '{shown}' is not in the catalogue; {self.edit.parts.format_nearest(maker_id, number)}."

    def _refuse_repeated(self, rows: list[InputRow]) -> list[InputRow]:
        get_identity = build_getter(self.target.identity)
        line_of = self.line_of
        single = []
        # A hash of 64 bits instead of the values: a million rows then take a third of the memory. Where the
        # sheet is looked at as a whole, the values are needed.
        name = hash if self.target.finish is None else tuple
        for row in rows:
            first_line = line_of.setdefault(name(get_identity(row.values)), row.line)
            if first_line == row.line:
                single.append(row)
            else:
                message = f"The row names the same thing as line {first_line}; keep one of the two."
                self.refuse(Problem(row.line, self._name_identity(), None, message))
        return single

    def _name_identity(self) -> str:
        replaced = {name.id_column: name.column for name in self.target.names}
        replaced |= {part.id_column: part.part_number for part in self.target.parts}
        return ", ".join(
            "part_number" if column == "part_id" else replaced.get(column, column)
            for column in self.target.identity
        )

    def _store(self, rows: list[InputRow]) -> None:
        if not rows:
            return
        stored = self._read_stored(rows)
        get_identity, get_values = build_getter(self.target.identity), build_getter(self.target.values)
        added: list[Values] = []
        changed: list[tuple[int, Values, Values]] = []
        written: list[Values] = []
        beside = 0
        if not stored:
            self._add(rows)
            return
        for row in rows:
            found = stored.get(get_identity(row.values))
            if found is None:
                added.append(row.values)
                written.append(row.values)
                self.show_change(row, {})
                continue
            if self.target.sparse:
                self._keep_unspoken(row.values, found[2])
            if found[2] != get_values(row.values):
                before = dict(zip(self.target.values, found[2], strict=True))
                new = {name: row.values[name] for name in self.target.values}
                self.show_change(row, before)
                changed.append((found[0], before | {"batch_id": found[1]}, new))
                row.values["id"] = found[0]
                written.append(row.values)
                self._touch(row.values)
            elif row.line in self.changed_beside:
                self.show_change(row, dict(zip(self.target.values, found[2], strict=True)))
                beside += 1
        for values in added:
            self._touch(values)
        self.edit.look_up.forget(self.target.table, written)
        self.edit.batch.add_rows(self.table, added)
        self.edit.batch.change_rows(self.table, changed)
        self.counts.added += len(added)
        self.counts.changed += len(changed) + beside
        self.counts.unchanged += len(rows) - len(added) - len(changed) - beside

    def _add(self, rows: list[InputRow]) -> None:
        """Add rows of which none is stored."""
        self.show_added(rows)
        added = [row.values for row in rows]
        if self.target.finish is not None:
            self.touched.extend(added)
        self.edit.look_up.forget(self.target.table, added)
        self.edit.batch.add_rows(self.table, added)
        self.counts.added += len(added)

    def show_added(self, rows: Sequence[InputRow]) -> None:
        """Keep the first rows that are added, as many as are to be shown."""
        for row in rows[: max(self.shown_changes - len(self.changes), 0)]:
            self.show_change(row, {})

    def _keep_unspoken(self, values: Values, stored: Any) -> None:
        """Leave alone what the file says nothing of."""
        for name, value in zip(self.target.values, stored, strict=True):
            if name in self.target.sparse and values[name] is None:
                values[name] = value

    def show_change(self, row: InputRow, before: Values) -> None:
        """Keep a row that is added (nothing before) or changed, when there is room for it."""
        if len(self.changes) >= self.shown_changes:
            return
        after = {name: row.values[name] for name in self.target.values}
        if before:
            after = {name: value for name, value in after.items() if value != before[name]}
        else:
            identity = {name: row.values[name] for name in self.target.identity if not name.endswith("_id")}
            after = {name: value for name, value in (identity | after).items() if value is not None}
        old = {name: before[name] for name in after if name in before}
        for name, (old_value, new_value) in self.changed_beside.get(row.line, {}).items():
            old[name], after[name] = old_value, new_value
        action = "changed" if before else "added"
        part_id = row.values.get("part_id")
        self.changes.append(RowChange(row.line, action, old, after, part_id))

    def _touch(self, values: Values) -> None:
        if self.target.finish is not None:
            self.touched.append(values)

    def _read_stored(self, rows: list[InputRow]) -> dict[Any, tuple[int, int | None, Any]]:
        """Stored rows that may be meant: by identity the id, the batch and the values."""
        target, columns = self.target, self.table.c
        last_id = self.edit.batch.find_last_id_before(self.table)
        if last_id == 0:
            return {}
        probe = target.probe
        wanted = {row.values[probe] for row in rows}
        question = select(
            columns.id,
            columns.batch_id,
            *(columns[name] for name in target.identity),
            *(columns[name] for name in target.values),
        ).where(
            columns[probe].in_(list(wanted)),
            columns.id <= last_id,
        )
        end = 2 + len(target.identity)
        return {
            tuple(row[2:end]): (row[0], row[1], tuple(row[end:]))
            for row in self.edit.connection.execute(question)
        }
