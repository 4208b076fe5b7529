"""Part types and kinds of tools that rows do not state: kept as ``other``, told once for the file."""

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Notice
from kb.rules.word_list import format_word_list

SHOWN_LINES = 10
OTHER = "other"
_MEMORY = "unstated"


def note_unstated(sheet: SheetEdit, key: int | str, line: int) -> None:
    """Remember a thing whose row states no word, with its first line."""
    sheet.memory.setdefault(_MEMORY, {}).setdefault(key, line)


def forget_unstated(sheet: SheetEdit, key: int | str) -> None:
    """A further row states it."""
    sheet.memory.get(_MEMORY, {}).pop(key, None)


def tell_unstated(sheet: SheetEdit, column: str, *, noun: str, meaning: str) -> None:
    """One notice for all things that are kept as ``other``; none where there is no such thing.

    Args:
        sheet: the sheet, after its last row.
        column: the column that states nothing.
        noun: what the things are.
        meaning: what follows from ``other``, as half a sentence.
    """
    lines = sorted(sheet.memory.get(_MEMORY, {}).values())
    if not lines:
        return
    verb = "state" if len(lines) > 1 else "states"
    message = (
        f"{len(lines)} {noun}{'s' if len(lines) > 1 else ''} {verb} no {column.replace('_', ' ')} "
        f"({format_lines(lines)}); kept as '{OTHER}': {meaning}. Fill in {column} where it is known, "
        "now or in a later list."
    )
    sheet.note(Notice(lines[0], "assumed", column, OTHER, message))


def format_lines(lines: list[int]) -> str:
    """Line numbers as a sentence lists them, the first ones where there are many.

    Example:
        >>> format_lines([2]), format_lines([2, 3, 5])
        ('line 2', 'lines 2, 3 and 5')
        >>> format_lines(list(range(2, 15)))
        'lines 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 3 more'
    """
    shown = [str(line) for line in lines[:SHOWN_LINES]]
    if len(lines) > SHOWN_LINES:
        shown.append(f"{len(lines) - SHOWN_LINES} more")
    return f"{'lines' if len(lines) > 1 else 'line'} {format_word_list(shown)}"
