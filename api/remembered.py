"""Columns that were remembered, offered for the next file of the same sender."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session

from api.waiting_import import WaitingImport
from importers.mapping import Mapping
from importers.next_file import (
    build_headings_key,
    compare_headings,
    keep_for_next_file,
    read_kept_mapping,
)
from kb.edits.column_maps import ColumnMap, change_column_map
from kb.errors import BadInput
from kb.lookups.column_maps import ColumnMapRow, get_column_map, list_column_maps

MOST_OFFERS = 3
_LEAST_SHARED = 0.5
# These are said anew for each file on its page.
_NOT_TAKEN = ("headings", "unknown", "duplicates", "decisions")


@dataclass(frozen=True, slots=True)
class Offer:
    """Remembered columns that suit a file, and how the file's heading line differs."""

    name: str
    kind: str
    saved_at_utc: datetime
    gone: list[str]
    new: list[str]


def read_mapping(row: ColumnMapRow) -> Mapping:
    """The mapping that was remembered."""
    return read_kept_mapping(json.loads(row.mapping_json))


def list_offers(session: Session, waiting: WaitingImport) -> list[Offer]:
    """What may be taken for a waiting file: of the same headings first, then of headings mostly the same."""
    now = [item["heading"] for item in waiting.headings]
    key = build_headings_key(now)
    same, like = [], []
    for row in list_column_maps(session):
        try:
            before = read_mapping(row).headings
        except BadInput:  # of a version that knew other columns
            continue
        if not now or row.saved_at_utc is None:
            continue
        gone, new = compare_headings(before, now)
        offer = Offer(row.name, row.kind, row.saved_at_utc, gone, new)
        if row.headings_key == key:
            same.append(offer)
        elif _is_like(row, waiting, shared=len(set(now)) - len(new), total=len(set(now)) + len(gone)):
            like.append(offer)
    like.sort(key=lambda offer: len(offer.gone) + len(offer.new))
    return (same or like)[:MOST_OFFERS]


def _is_like(row: ColumnMapRow, waiting: WaitingImport, *, shared: int, total: int) -> bool:
    names_sender = row.name.casefold() in waiting.name.casefold()
    return shared > 0 and (names_sender or shared >= _LEAST_SHARED * total)


def take_columns(session: Session, waiting: WaitingImport, name: str, kind: str) -> None:
    """Read a waiting file by what was remembered; how its heading line differs is kept to be asked."""
    mapping = read_mapping(get_column_map(session, name, kind))
    now = [item["heading"] for item in waiting.headings]
    gone, new = compare_headings(mapping.headings, now)
    said = json.loads(mapping.as_json())
    form = {word: value for word, value in said["form"].items() if value is not None}
    kept = {word: value for word, value in said.items() if word not in _NOT_TAKEN and value is not None}
    waiting.said = kept | {"form": form}
    waiting.remembered = {"name": name, "gone": gone, "new": new}
    waiting.preview = None


def remember_columns(session: Session, name: str, said: dict[str, Any] | None, *, now: datetime) -> None:
    """Keep what the columns of an import meant.

    Args:
        session: a writer's session; the caller commits.
        name: usually the supplier's.
        said: the mapping that the import was made by.
        now: the time, with its time zone.

    Raises:
        BadInput: the import had no mapping, or the name is no name.
    """
    if not said:
        raise BadInput("This import has no columns to remember; it was loaded as a folder.", field="name")
    mapping = keep_for_next_file(read_kept_mapping(said))
    row = ColumnMap(name, mapping.kind, build_headings_key(mapping.headings), mapping.as_json())
    change_column_map(session, row, now=now)


def propose_name(said: dict[str, Any] | None, file_name: str) -> str:
    """The name to remember columns by: the supplier's or the maker's, else the file's."""
    values = (said or {}).get("values") or {}
    return str(values.get("supplier") or values.get("maker") or file_name.rpartition(".")[0])[:60]
