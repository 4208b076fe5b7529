"""What the import pages make of an uploaded file: its name, its likely kind, its columns with samples."""

import re
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.waiting_import import WaitingImport
from importers.table import TEXT_ENDINGS, WORKBOOK_ENDINGS
from kb.errors import BadInput

LONGEST_NAME = 120
UNDECIDED = "?"


@dataclass(frozen=True, slots=True)
class ColumnView:
    """One heading of the file: samples, what it may be, what was chosen."""

    place: int
    heading: str
    samples: tuple[str, ...]
    chosen: str
    certainty: str
    unit: str
    likely: tuple[str, ...]


def clean_file_name(sent: str | None) -> str:
    """The name that a file was sent under, without folders and signs that cannot be seen.

    Raises:
        BadInput: no file was chosen, or one of a kind that is not read.

    Example:
        >>> clean_file_name("C:\\\\lists\\\\alder 2026.xlsx")
        'alder 2026.xlsx'
    """
    name = "".join(c for c in re.split(r"[/\\]", sent or "")[-1] if c.isprintable()).strip()
    if not name:
        raise BadInput("No file was chosen; choose a CSV, TSV, XLSX or ODS file.", field="file")
    ending = Path(name).suffix.lower()
    if ending not in (*TEXT_ENDINGS, *WORKBOOK_ENDINGS):
        raise BadInput(
            f"Files named '{ending[:20]}' are not read; save the sheet as .csv, .tsv, .xlsx or .ods.",
            field="file",
        )
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - len(ending)] + ending


def build_columns(waiting: WaitingImport) -> list[ColumnView]:
    """Headings of a file in their order; none where it cannot be read yet."""
    said: AnyMapping[str, str] = waiting.said.get("columns") or {}
    new = (waiting.remembered or {}).get("new", ())
    return [
        _build_column(place, item, said, is_new=item["heading"] in new)
        for place, item in enumerate(waiting.headings)
        if item["heading"]
    ]


def _build_column(
    place: int, item: AnyMapping[str, Any], said: AnyMapping[str, str], *, is_new: bool
) -> ColumnView:
    """A heading that is new in a known list is asked for, however clear it is."""
    heading, column, certainty = item["heading"], item["column"], item["certainty"]
    likely = list(item["alternatives"])
    if heading in said:
        column, certainty = said[heading], "chosen"
    elif is_new:
        likely += [column] if column and column not in likely else []
        column, certainty = None, "new"
    return ColumnView(
        place,
        heading,
        tuple(text for text in item["samples"] if text),
        UNDECIDED if column is None else column,
        certainty,
        item["unit"] or "",
        tuple(likely),
    )


def list_questions(waiting: WaitingImport) -> list[dict[str, Any]]:
    """What has to be decided first; a heading that is not clear is decided at its column below.

    Before it is known what the list is, only what keeps the file from being read at all.
    """
    if waiting.look is None:
        return []
    questions: list[dict[str, Any]] = waiting.look["questions"]
    if not waiting.said.get("kind"):
        return questions if waiting.look["heading_line"] is None else []
    headings = {item["heading"] for item in waiting.headings}
    return [
        item | {"message": f"Say below what '{item['value']}' is, or leave that column out."}
        if item["value"] and item["value"] in headings
        else item
        for item in questions
    ]
