"""Tool sheets: a tool of which no kind is stated keeps the stored one, or is an ``other``."""

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.target import InputRow
from kb.edits.unstated import OTHER, note_unstated, tell_unstated


def prepare_tools(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows that all have a kind."""
    silent = [row for row in rows if row.values["kind"] is None]
    if not silent:
        return rows
    tools = sheet.table.c
    names = [row.values["tool"] for row in silent]
    question = select(tools.tool, tools.kind).where(tools.tool.in_(names))
    stored = dict(sheet.edit.connection.execute(question).all())
    for row in silent:
        tool = row.values["tool"]
        row.values["kind"] = stored.get(tool, OTHER)
        if row.values["kind"] == OTHER:
            note_unstated(sheet, tool, row.line)
    return rows


def close_tools(sheet: SheetEdit) -> None:
    """Tell which tools state no kind."""
    tell_unstated(
        sheet, "kind", noun="tool", meaning="no card takes them for a socket, a hex key or a torque wrench"
    )
