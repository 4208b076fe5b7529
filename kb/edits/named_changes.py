"""Changes of an import as a person reads them: names in place of ids."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, select

from kb.edits.notices import RowChange
from kb.edits.target import NameReference, Target
from kb.tables.columns import get_table


def name_rows(connection: Connection, target: Target, changes: Iterable[RowChange]) -> tuple[RowChange, ...]:
    """The changes with maker and part number of their parts, and names in place of the ids referred to."""
    listed = list(changes)
    parts = _read_parts(connection, listed)
    for reference in target.names:
        names = _read_names(connection, reference, listed)
        listed = [
            replace(
                change,
                before=_replace_id(change.before, reference, names),
                after=_replace_id(change.after, reference, names),
            )
            for change in listed
        ]
    unknown = (None, None)
    return tuple(
        replace(change, maker=maker, part_number=part_number)
        for change in listed
        for maker, part_number in (parts.get(change.part_id or 0, unknown),)
    )


def _read_parts(connection: Connection, changes: Iterable[RowChange]) -> dict[int, tuple[str, str]]:
    part, maker = get_table("part"), get_table("maker")
    ids = sorted({change.part_id for change in changes if change.part_id is not None})
    question = select(part.c.id, maker.c.maker, part.c.part_number).select_from(part.join(maker))
    return {row[0]: (row[1], row[2]) for row in connection.execute(question.where(part.c.id.in_(ids)))}


def _read_names(
    connection: Connection, reference: NameReference, changes: Iterable[RowChange]
) -> dict[int, str]:
    table = get_table(reference.table)
    sides = (side for change in changes for side in (change.before, change.after))
    ids = sorted({side[reference.id_column] for side in sides if side.get(reference.id_column) is not None})
    question = select(table.c.id, table.c[reference.table]).where(table.c.id.in_(ids))
    return {row[0]: row[1] for row in connection.execute(question)} if ids else {}


def _replace_id(values: dict[str, Any], reference: NameReference, names: dict[int, str]) -> dict[str, Any]:
    return {
        (reference.column if column == reference.id_column else column): (
            names.get(value, value) if column == reference.id_column else value
        )
        for column, value in values.items()
    }
