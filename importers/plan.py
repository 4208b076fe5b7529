"""How a file is going to be read: heading, columns, decimal sign; and what has to be asked before.

A plan is made from the first rows. Nothing in it is guessed: what is not certain becomes a question.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from importers.columns import Column, Money, Number, WholeNumber
from importers.headings import HeadingMatch, match_headings, split_unit
from importers.layout import Layout, find_layout, fold_heading
from importers.limits import UnreadableFile
from importers.mapping import Mapping
from importers.next_file import compare_headings
from importers.number_mark import NUMBER_MARK
from importers.row_groups import RawRow
from importers.sheets.sheet import Sheet
from importers.table_form import TableForm, find_decimal
from kb.edits.problem import Problem, shorten
from kb.terms import Certainty

SAMPLED_ROWS = 300


@dataclass(frozen=True, slots=True)
class Plan:
    """How a file is read.

    Args:
        mapping: the mapping with all that the file shows.
        form: how the file is written, for reading.
        layout: where the heading stands.
        matches: what each column is.
        questions: what has to be decided before rows can be read.
        changes: how the heading line differs from that of the mapping.
    """

    mapping: Mapping
    form: TableForm
    layout: Layout
    matches: tuple[HeadingMatch, ...]
    questions: tuple[Problem, ...]
    changes: tuple[Problem, ...] = ()

    @property
    def sheet(self) -> Sheet:
        """The kind of sheet."""
        return self.mapping.sheet

    @property
    def column_names(self) -> list[str]:
        """Column of each heading; empty for those left out."""
        return [match.column or "" for match in self.matches]


def build_plan(rows: Sequence[RawRow], mapping: Mapping) -> Plan:
    """Plan for a file whose first rows are given.

    Raises:
        UnreadableFile: no row looks like a heading.
    """
    layout = find_layout(rows, known=mapping.headings or tuple(mapping.columns or ()))
    if layout is None:
        raise UnreadableFile(
            "No heading was found in the first rows; put one above the columns, "
            "for example: maker, part number.",
            line=rows[0][0] if rows else 1,
        )
    matches, questions = _match(layout, mapping)
    questions += _find_doubled(matches, layout.first_line)
    questions += _find_missing(mapping, matches, layout.first_line)
    changes = _compare_headings(mapping, layout)
    data = [row for row in rows if row[0] > layout.last_line][:SAMPLED_ROWS]
    shown, form = mapping.form, mapping.form
    if form.decimal is None:
        cells = _list_numeric_cells(data, matches, mapping.sheet)
        form = replace(form, decimal=find_decimal(cells))
        # A list without decimals shows no sign: the next one may have another.
        shown = form if any(mark in cell for cell in cells for mark in ",.") else mapping.form
    units = {m.heading: m.unit for m in matches if m.unit and m.column} | mapping.units
    found = replace(
        mapping,
        columns={match.heading: match.column for match in matches if match.column is not None},
        headings=layout.heading,
        form=shown,
        units=units,
    )
    matches = tuple(replace(match, unit=units.get(match.heading)) for match in matches)
    return Plan(found, form, layout, matches, tuple(dict.fromkeys(questions)), tuple(changes))


def _match(layout: Layout, mapping: Mapping) -> tuple[tuple[HeadingMatch, ...], list[Problem]]:
    found = match_headings(layout, mapping.sheet)
    folded = Counter(fold_heading(match.heading) for match in found)
    said = {fold_heading(heading): column for heading, column in (mapping.columns or {}).items()}
    matches: list[HeadingMatch] = []
    questions: list[Problem] = []
    for match in found:
        column = said.get(fold_heading(match.heading))
        if column is not None:
            unit = mapping.units.get(match.heading) or split_unit(match.heading)[1]
            matches.append(HeadingMatch(match.heading, column, Certainty.SURE, unit))
            continue
        decided = match
        if mapping.columns and match.column and match.column in said.values():
            decided = replace(match, certainty=Certainty.UNSURE)  # another heading has this column already
        if not decided.is_decided:
            if mapping.unknown == "ask":
                is_doubled = folded[fold_heading(match.heading)] > 1
                questions.append(_ask(decided, layout.first_line, mapping.sheet, is_doubled=is_doubled))
            decided = replace(decided, column=None if mapping.unknown == "ask" else "")
        matches.append(decided)
    return tuple(matches), questions


def _find_doubled(matches: Sequence[HeadingMatch], line: int) -> list[Problem]:
    """Columns that two headings stand for: which of them holds is not for the program to choose."""
    taken: dict[str, list[str]] = {}
    for match in matches:
        if match.column:
            taken.setdefault(match.column, []).append(match.heading)
    return [
        Problem(line, shorten(headings[1]), shorten(headings[1]), _explain_doubled(column, headings))
        for column, headings in taken.items()
        if len(headings) > 1
    ]


def _explain_doubled(column: str, headings: Sequence[str]) -> str:
    shown = [shorten(heading) for heading in headings[:2]]
    if fold_heading(headings[0]) == fold_heading(headings[1]):
        return f"Heading '{shown[1]}' stands twice; rename or delete one of the two columns in the file."
    return f"Headings '{shown[0]}' and '{shown[1]}' both stand for {column}; leave one of them out."


def _ask(match: HeadingMatch, line: int, sheet: Sheet, *, is_doubled: bool) -> Problem:
    shown = shorten(match.heading)
    if is_doubled:
        return Problem(line, shown, shown, _explain_doubled("", [match.heading, match.heading]))
    offered = " or ".join(match.alternatives) or "one of " + ", ".join(c.name for c in sheet.columns)
    message = (
        f"Heading '{shown}' is not clear; it may be {offered}. Say which in the mapping, or leave it "
        "out there with an empty column."
    )
    return Problem(line, shown, shown, message)


def _find_missing(mapping: Mapping, matches: Sequence[HeadingMatch], line: int) -> list[Problem]:
    given = {match.column for match in matches} | mapping.values.keys()
    return [
        Problem(
            line,
            column.name,
            "",
            f"No column is '{column.name}', which must be filled in; map a heading to it, or give one value "
            "for all rows.",
        )
        for column in mapping.sheet.columns
        if column.required and column.name not in given
    ]


def _compare_headings(mapping: Mapping, layout: Layout) -> list[Problem]:
    """How the heading line differs from the one that the mapping was made for."""
    if not mapping.headings:
        return []
    gone, new = compare_headings(mapping.headings, layout.heading)
    if not gone and not new:
        return []
    said = [f"gone: {', '.join(map(repr, gone))}"] if gone else []
    said += [f"new: {', '.join(map(repr, new))}"] if new else []
    shown = shorten("; ".join(said))
    message = (
        f"The heading line is not the one that the mapping was made for ({shown}); "
        "check the columns and write the new line into the mapping."
    )
    return [Problem(layout.first_line, None, None, message)]


def _is_numeric(column: Column) -> bool:
    return isinstance(column.cell, Number | WholeNumber | Money)


def _list_numeric_cells(data: Sequence[RawRow], matches: Sequence[HeadingMatch], sheet: Sheet) -> list[str]:
    """Texts in columns of numbers, but for cells that came as numbers."""
    numeric = {column.name for column in sheet.columns if _is_numeric(column)}
    places = [place for place, match in enumerate(matches) if match.column in numeric]
    return [
        cells[place]
        for _line, cells in data
        for place in places
        if place < len(cells) and not cells[place].startswith(NUMBER_MARK)
    ]
