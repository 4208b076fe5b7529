"""New parts of a list that may be stored ones: with the same article number, or the same maker and size.

They are noted for a person to decide, never refused: two articles of one size are not rare.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import select

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Notice, shorten
from kb.edits.target import InputRow
from kb.tables.columns import get_table

IDS_PER_QUESTION = 5_000
LEAST_SIZES = 2
MOST_CANDIDATES = 20
SIZES = (
    "length_mm",
    "top_width_mm",
    "angle_deg",
    "thickness_mm",
    "diameter_mm",
    "width_mm",
    "mass_g",
    "count",
    "rated_rpm",
    "free_length_mm",
    "wire_mm",
    "coil_mm",
    "active_coils",
    "bore_mm",
    "outside_mm",
    "thread",
    "across_flats_mm",
)
_TOLD_APART_BY = ("length_mm", "diameter_mm", "bore_mm", "thread", "free_length_mm")


def note_likely_parts(
    sheet: SheetEdit, rows: list[InputRow], *, numbers: dict[int, str], last_part: int
) -> None:
    """Note the new parts among the rows that may be stored ones.

    Args:
        sheet: the sheet that is loaded.
        rows: rows of parts that were added, with their part's id.
        numbers: part number by line.
        last_part: highest id of a part before this import.
    """
    if not rows or last_part == 0:
        return
    kinds = _read_kinds(sheet, [row.values["part_id"] for row in rows])
    noted = set(_note_same_codes(sheet, rows, kinds, numbers=numbers, last_part=last_part))
    rest = [row for row in rows if row.line not in noted]
    for name in _TOLD_APART_BY:
        sized = [row for row in rest if row.values[name] is not None]
        if sized:
            stored = _list_stored(sheet, name, sized, kinds, last_part=last_part)
            _note_same_sizes(sheet, sized, kinds, stored=stored, numbers=numbers, name=name)


def _note_same_codes(
    sheet: SheetEdit,
    rows: list[InputRow],
    kinds: dict[int, tuple[int, str]],
    *,
    numbers: dict[int, str],
    last_part: int,
) -> Iterator[int]:
    by_gtin = {row.values["gtin"]: row for row in rows if row.values["gtin"]}
    record, part = get_table("part_record"), get_table("part")
    joined = select(record.c.gtin, part.c.part_number, part.c.maker_id).select_from(record.join(part))
    for gtins in _split(sorted(by_gtin)):
        question = joined.where(record.c.gtin.in_(gtins), part.c.id <= last_part)
        for gtin, stored, maker_id in sheet.edit.connection.execute(question):
            row = by_gtin[gtin]
            is_own = kinds[row.values["part_id"]][0] == maker_id
            why = f"has the article number {gtin}"
            _note(sheet, row, numbers[row.line], stored, why=why, is_own=is_own)
            yield row.line


Stored = dict[tuple[int, str, Any], list[tuple[str, tuple[Any, ...]]]]


def _list_stored(
    sheet: SheetEdit,
    name: str,
    rows: list[InputRow],
    kinds: dict[int, tuple[int, str]],
    *,
    last_part: int,
) -> Stored:
    """Numbers and sizes of stored parts of the same makers, by maker, part type and the one size."""
    record, part = get_table("part_record"), get_table("part")
    columns = (part.c.maker_id, part.c.part_type, part.c.part_number, *(record.c[size] for size in SIZES))
    place = 3 + SIZES.index(name)
    values = sorted({row.values[name] for row in rows})
    makers = sorted({kinds[row.values["part_id"]][0] for row in rows})
    stored: Stored = {}
    for group in _split(values):
        for some in _split(makers):
            question = select(*columns).select_from(record.join(part)).where(
                record.c[name].in_(group), part.c.maker_id.in_(some), part.c.id <= last_part
            )  # fmt: skip
            for found in sheet.edit.connection.execute(question):
                candidates = stored.setdefault((found[0], found[1], found[place]), [])
                if len(candidates) < MOST_CANDIDATES:
                    candidates.append((found[2], tuple(found[3:])))
    return stored


def _note_same_sizes(  # noqa: PLR0913 - what is compared with what
    sheet: SheetEdit,
    rows: list[InputRow],
    kinds: dict[int, tuple[int, str]],
    *,
    stored: Stored,
    numbers: dict[int, str],
    name: str,
) -> None:
    for row in rows:
        sizes = tuple(row.values[size] for size in SIZES)
        for number, known in stored.get((*kinds[row.values["part_id"]], row.values[name]), ()):
            if is_same_size(sizes, known):
                _note(sheet, row, numbers[row.line], number, why="has the maker and size", is_own=True)
                break


def is_same_size(sizes: Iterable[Any], known: Iterable[Any]) -> bool:
    """Whether all sizes that both state are the same, and these are two at least, or all that either states.

    Example:
        >>> is_same_size((669.0, 18.0, None), (669.0, 18.0, 8.0)), is_same_size((669.0, None), (669.0, 8.0))
        (True, False)
    """
    pairs = list(zip(sizes, known, strict=True))
    both = [(one, other) for one, other in pairs if one is not None and other is not None]
    is_all = all(one == other for one, other in pairs)
    return all(one == other for one, other in both) and (len(both) >= LEAST_SIZES or is_all)


def _read_kinds(sheet: SheetEdit, part_ids: list[int]) -> dict[int, tuple[int, str]]:
    """Maker and part type of parts."""
    part = get_table("part").c
    found: dict[int, tuple[int, str]] = {}
    for ids in _split(part_ids):
        question = select(part.id, part.maker_id, part.part_type).where(part.id.in_(ids))
        found |= {row[0]: (row[1], row[2]) for row in sheet.edit.connection.execute(question)}
    return found


def _note(sheet: SheetEdit, row: InputRow, number: str, stored: str, *, why: str, is_own: bool) -> None:  # noqa: PLR0913
    message = (
        f"Part '{shorten(number)}' {why} of the stored '{shorten(stored)}'; decide whether they are one part."
    )
    choice = stored if is_own else None
    sheet.note(Notice(row.line, "duplicate", "part_number", shorten(number), message, choice))


def _split(items: list[Any]) -> Iterator[list[Any]]:
    for start in range(0, len(items), IDS_PER_QUESTION):
        yield items[start : start + IDS_PER_QUESTION]
