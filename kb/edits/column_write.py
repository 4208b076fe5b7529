"""Long lists compared with what is stored and written column by column, much faster than row by row.

Only where nothing needs a closer look: every name and part is known exactly, no row repeats another. Whatever
else a group holds, the whole group goes row by row, where each row gets its sentence.
"""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from kb.edits.catalogue import SheetEdit
from kb.edits.stored_rows import Columns, find_stored, has_stored
from kb.edits.target import InputColumns, InputRow, PartReference, Values
from kb.tables.columns import get_table

# Parts met earlier in the file are not asked for again.
REMEMBERED_PARTS = 50_000


def write_group(sheet: SheetEdit, group: InputColumns | list[InputRow]) -> None:
    """Add or change a group of rows."""
    if isinstance(group, list):
        sheet.write(group)
    elif not _write_columns(sheet, group):
        sheet.write(group.build_rows())


def _write_columns(sheet: SheetEdit, group: InputColumns) -> bool:
    """Add or change a group of rows; False, with nothing written, when one of them needs a closer look."""
    target = sheet.target
    if target.prepare_columns is None or target.finish is not None:
        return False
    columns = group.columns.copy()
    if not _resolve_names(sheet, columns):
        return False
    if not all(_resolve_parts(sheet, columns, part) for part in target.parts):
        return False
    prepared = target.prepare_columns(sheet, InputColumns(group.lines, columns))
    if prepared is None or not _note_identities(sheet, prepared):
        return False
    if has_stored(sheet, prepared.columns):
        _add_and_change(sheet, prepared)
    else:
        _show(sheet, prepared, range(len(prepared.lines)), changed={})
        _add(sheet, prepared.columns, len(prepared.lines))
    for notice in prepared.notices:
        sheet.note(notice)
    return True


def _add(sheet: SheetEdit, columns: Columns, count: int) -> None:
    sheet.edit.batch.add_columns(sheet.table, columns, by=sheet.target.probe)
    sheet.counts.added += count


def _add_and_change(sheet: SheetEdit, group: InputColumns) -> None:
    """Add the rows that are not stored, change those that are stored with other values."""
    names, count = sheet.target.values, len(group.lines)
    stored = _read_stored(sheet, group)
    values = list(zip(*(group.columns[name] for name in names), strict=True))
    changed: dict[int, tuple[int, Values, Values]] = {}
    for place in sorted(stored):
        row_id, batch_id, old = stored[place]
        new = _keep_unspoken(sheet, values[place], old)
        if new != old:
            before = dict(zip(names, old, strict=True)) | {"batch_id": batch_id}
            changed[place] = (row_id, before, dict(zip(names, new, strict=True)))
    added = [place for place in range(count) if place not in stored]
    _show(sheet, group, sorted([*added, *changed]), changed=changed)
    _add(sheet, {name: [cells[p] for p in added] for name, cells in group.columns.items()}, len(added))
    sheet.edit.batch.change_rows(sheet.table, list(changed.values()))
    sheet.counts.changed += len(changed)
    sheet.counts.unchanged += count - len(added) - len(changed)


def _read_stored(sheet: SheetEdit, group: InputColumns) -> dict[int, tuple[int, int | None, tuple[Any, ...]]]:
    """Id, batch and values of what was stored before the import, by the place of the row that means it."""
    target = sheet.target
    last_id = sheet.edit.batch.find_last_id_before(sheet.table)
    found = find_stored(
        sheet.edit.connection,
        sheet.table,
        group.columns,
        by=target.identity,
        take=("id", "batch_id", *target.values),
    )
    return {row[0]: (row[1], row[2], tuple(row[3:])) for row in found if row[1] <= last_id}


def _keep_unspoken(sheet: SheetEdit, new: tuple[Any, ...], old: tuple[Any, ...]) -> tuple[Any, ...]:
    """The new values, and the stored ones of which the file says nothing."""
    sparse = sheet.target.sparse
    if new == old or not sparse:
        return new
    return tuple(
        stored if value is None and name in sparse else value
        for name, value, stored in zip(sheet.target.values, new, old, strict=True)
    )


def _show(
    sheet: SheetEdit,
    group: InputColumns,
    places: Sequence[int],
    *,
    changed: Mapping[int, tuple[int, Values, Values]],
) -> None:
    """Keep the first rows that are added or changed, as many as are to be shown."""
    for place in places[: max(sheet.shown_changes - len(sheet.changes), 0)]:
        values = {name: cells[place] for name, cells in group.columns.items()}
        _row_id, before, new = changed.get(place, (0, {}, {}))
        sheet.show_change(InputRow(group.lines[place], values | new), before)


def _resolve_names(sheet: SheetEdit, columns: Columns) -> bool:
    """Replace names by ids; False for an unknown name."""
    for reference in sheet.target.names:
        names = columns.pop(reference.column)
        index = sheet.edit.get_names(reference.table)
        ids = {name: None if name is None else index.find_id(name) for name in set(names)}
        if None in ids.values():
            return False
        columns[reference.id_column] = list(map(ids.__getitem__, names))
    return True


def _resolve_parts(sheet: SheetEdit, columns: Columns, reference: PartReference) -> bool:
    """Replace maker and part number by the part's id; False when one is not met exactly."""
    known: dict[tuple[str, str], int] = sheet.memory.setdefault("known_parts", {})
    meant = list(zip(columns.pop(reference.maker), columns.pop(reference.part_number), strict=True))
    if len(known) > REMEMBERED_PARTS:
        known.clear()
    part_ids = list(map(known.get, meant))
    if None in part_ids:
        new = {part for part, part_id in zip(meant, part_ids, strict=True) if part_id is None}
        _find_parts(sheet, new, known)
        part_ids = list(map(known.get, meant))
    columns[reference.id_column] = part_ids
    return None not in part_ids


def _find_parts(
    sheet: SheetEdit, meant: Collection[tuple[str, str]], known: dict[tuple[str, str], int]
) -> None:
    """Note the ids of parts that are meant exactly."""
    makers = sheet.edit.get_names("maker")
    maker_ids = {maker: makers.find_id(maker) for maker in {maker for maker, _number in meant}}
    asked = [part for part in meant if maker_ids[part[0]] is not None]
    wanted: Columns = {
        "maker_id": [maker_ids[maker] for maker, _number in asked],
        "part_number": [number for _maker, number in asked],
    }
    if asked:
        found = find_stored(sheet.edit.connection, get_table("part"), wanted, by=tuple(wanted), take=("id",))
        known.update((asked[place], part_id) for place, part_id in found)


def _note_identities(sheet: SheetEdit, group: InputColumns) -> bool:
    """Remember what the rows name, hashed as for single rows; False when something is named twice."""
    named = list(map(hash, zip(*(group.columns[name] for name in sheet.target.identity), strict=True)))
    if len(set(named)) != len(named) or not sheet.line_of.keys().isdisjoint(named):
        return False
    sheet.line_of.update(zip(named, group.lines, strict=True))
    return True
