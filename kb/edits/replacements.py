"""Replacement sheets: no part replaces itself, a part has one successor a source, chains have an end."""

from collections.abc import Iterator

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Problem
from kb.edits.target import InputRow
from kb.tables.columns import get_table
from kb.terms import ReplacementKind

SHOWN_MEMBERS = 10


def prepare_replacements(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows that neither name a part as its own replacement nor give it a second successor."""
    stored = _read_successors(sheet)
    return [row for row in rows if _is_apart(sheet, row) and _is_only_successor(sheet, row, stored)]


def _is_apart(sheet: SheetEdit, row: InputRow) -> bool:
    if row.values["part_id"] != row.values["by_part_id"]:
        return True
    message = "The part is named as its own replacement; name another part or remove the row."
    sheet.refuse(Problem(row.line, "by_part_number", None, message))
    return False


def _read_successors(sheet: SheetEdit) -> dict[tuple[int, int], int]:
    """Successor by part and source, as stored before this sheet; read once a sheet."""
    if "successors" not in sheet.memory:
        columns = sheet.table.c
        sheet.memory["successors"] = {
            (part_id, source_id): by_part_id
            for part_id, source_id, by_part_id in sheet.edit.connection.execute(
                select(columns.part_id, columns.source_id, columns.by_part_id).where(
                    columns.kind == str(ReplacementKind.SUPERSEDES)
                )
            )
        }
        sheet.memory["successor_lines"] = {}
    successors: dict[tuple[int, int], int] = sheet.memory["successors"]
    return successors


def _is_only_successor(sheet: SheetEdit, row: InputRow, stored: dict[tuple[int, int], int]) -> bool:
    if row.values["kind"] != ReplacementKind.SUPERSEDES:
        return True
    lines: dict[tuple[int, int], int] = sheet.memory["successor_lines"]
    key = (row.values["part_id"], row.values["source_id"])
    successor = stored.setdefault(key, row.values["by_part_id"])
    if successor == row.values["by_part_id"]:
        lines.setdefault(key, row.line)
        return True
    names = _read_part_numbers(sheet, [key[0], successor])
    where = f"line {lines[key]} names" if key in lines else "the catalogue has"
    message = (
        f"Part '{names[key[0]]}' has two successors: {where} '{names[successor]}'; "
        "keep one, or call the other one a substitute."
    )
    sheet.refuse(Problem(row.line, "by_part_number", None, message))
    return False


def refuse_loops(sheet: SheetEdit) -> None:
    """Refuse chains of successors that come back to their start, naming the members."""
    columns = sheet.table.c
    successors: dict[int, list[int]] = {}
    for part_id, by_part_id in sheet.edit.connection.execute(
        select(columns.part_id, columns.by_part_id)
        .where(columns.kind == str(ReplacementKind.SUPERSEDES))
        .order_by(columns.id)
    ):
        successors.setdefault(part_id, []).append(by_part_id)
    for loop in find_loops(successors):
        names = _read_part_numbers(sheet, loop[:SHOWN_MEMBERS])
        shown = [f"'{names[part_id]}'" for part_id in loop[:SHOWN_MEMBERS]]
        if len(loop) > SHOWN_MEMBERS:
            shown.append(f"{len(loop) - SHOWN_MEMBERS} more")
        message = (
            f"The replacements go round in a loop: {' → '.join([*shown, shown[0]])}; remove one row of it."
        )
        sheet.refuse(Problem(_find_last_line(sheet, loop), "by_part_number", None, message))


def _find_last_line(sheet: SheetEdit, loop: list[int]) -> int:
    members = set(loop)
    lines = [
        line
        for (part_id, by_part_id, kind, _source), line in sheet.line_of.items()
        if kind == ReplacementKind.SUPERSEDES and part_id in members and by_part_id in members
    ]
    return max(lines, default=1)


def find_loops(successors: dict[int, list[int]]) -> list[list[int]]:
    """Loops in a graph of successors, each as its members in order; walks without recursion.

    Example:
        >>> find_loops({1: [2], 2: [3], 3: [1], 4: [1]})
        [[1, 2, 3]]
        >>> find_loops({1: [2], 2: [3]})
        []
    """
    loops: list[list[int]] = []
    finished: set[int] = set()
    for start in successors:
        if start not in finished:
            loops.extend(_walk(start, successors, finished))
    return loops


def _walk(start: int, successors: dict[int, list[int]], finished: set[int]) -> Iterator[list[int]]:
    """Depth-first walk from one part; yields the path whenever it comes back onto itself."""
    path: list[int] = [start]
    place_on_path = {start: 0}
    branches: list[Iterator[int]] = [iter(successors.get(start, ()))]
    while path:
        part_id = next(branches[-1], None)
        if part_id is None:
            branches.pop()
            done = path.pop()
            del place_on_path[done]
            finished.add(done)
        elif part_id in place_on_path:
            yield path[place_on_path[part_id] :]
        elif part_id not in finished:
            place_on_path[part_id] = len(path)
            path.append(part_id)
            branches.append(iter(successors.get(part_id, ())))


def _read_part_numbers(sheet: SheetEdit, part_ids: list[int]) -> dict[int, str]:
    parts = get_table("part").c
    found = sheet.edit.connection.execute(select(parts.id, parts.part_number).where(parts.id.in_(part_ids)))
    return {part.id: part.part_number for part in found}
