"""Rows that may be parts which are stored already, put to a person: the same part, a new one, or left out."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from kb.edits.listed_parts import LEAVE_OUT, SAME_AS

SHOWN = 50


@dataclass(frozen=True, slots=True)
class Duplicate:
    """One number of the file that may be a stored part, and what may be decided of it.

    Attributes:
        is_by_marks: differs from the stored number by blanks, hyphens or case only.
        choices: words that are sent, and what they say.
        chosen: what was decided before.
    """

    number: str
    line: int
    message: str
    is_by_marks: bool
    choices: tuple[tuple[str, str], ...]
    chosen: str | None


def list_duplicates(notices: Iterable[Mapping[str, Any]], decisions: Mapping[str, str]) -> list[Duplicate]:
    """One for each number, the first ones of a file."""
    found: dict[str, Duplicate] = {}
    for notice in notices:
        number, stored = notice["value"], notice["choice"]
        if number not in found and len(found) < SHOWN:
            is_by_marks = notice["message"].endswith("or a new one.")
            found[number] = Duplicate(
                number,
                notice["line"],
                notice["message"],
                is_by_marks,
                _list_choices(stored, is_by_marks=is_by_marks),
                decisions.get(number),
            )
    return list(found.values())


def _list_choices(stored: str | None, *, is_by_marks: bool) -> tuple[tuple[str, str], ...]:
    same: tuple[tuple[str, str], ...] = ()
    if is_by_marks:
        same = (("same", "the same part"),)
    elif stored:
        same = ((SAME_AS + stored, f"the same part: read it as {stored}"),)
    return (*same, ("new", "a new part"), (LEAVE_OUT, "leave this row out"))
