"""What the import pages make of an uploaded file: its name, its likely kind, its columns with samples."""

import re
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, replace
from pathlib import Path

from api.waiting_import import WaitingImport
from importers.mapping import Mapping
from importers.sheet_file import Inspection, SheetFile, inspect_file, propose_kind
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


def propose_list_kind(file: SheetFile) -> str | None:
    """A list with a column of prices is a price list; else the kind whose columns the headings fill best."""
    plan = inspect_file(replace(file, mapping=Mapping(kind="offers")), sample_rows=0).plan
    if plan is not None and "price" in plan.column_names:
        return "offers"
    return propose_kind(file)


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


def build_columns(waiting: WaitingImport, found: Inspection | None) -> list[ColumnView]:
    """Headings of a file in their order; none where it cannot be read yet."""
    if found is None or found.plan is None:
        return []
    said: AnyMapping[str, str] = waiting.said.get("columns") or {}
    shaped = found.as_json()["headings"]
    return [
        ColumnView(
            place,
            match.heading,
            tuple(text for text in shaped[place]["samples"] if text),
            said.get(match.heading, UNDECIDED if match.column is None else match.column),
            "chosen" if match.heading in said else str(match.certainty),
            match.unit or "",
            match.alternatives,
        )
        for place, match in enumerate(found.plan.matches)
        if match.heading
    ]
