"""Parts and engines as the look-up's index reads them: their texts, and the trade names beside them.

The index is written by ``kb.edits`` and verified by ``kb.lookups``; both must read a row in the same way.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, select

from kb.rules.match.analyser import Analyser
from kb.rules.match.part_number import format_key, format_look_alike
from kb.rules.match.tokens import RowText
from kb.rules.match.trade import build_trade_analyser, list_known_concepts, list_ruled_out_concepts
from kb.tables.columns import get_table
from kb.tables.look_up import KeyKind, get_engine_entry_id, get_part_entry_id

Key = tuple[int, str]
Entry = tuple[int, RowText, tuple[Key, ...]]
"""Id of an entry, its text, and the keys of its numbers."""

IDS_PER_QUESTION = 500
_UNITS = {
    "length_mm": "mm",
    "top_width_mm": "mm",
    "angle_deg": "deg",
    "thickness_mm": "mm",
    "diameter_mm": "mm",
    "width_mm": "mm",
    "mass_g": "g",
    "count": "pc",
    "rated_rpm": "rpm",
    "free_length_mm": "mm",
    "wire_mm": "mm",
    "coil_mm": "mm",
    "active_coils": "",
    "bore_mm": "mm",
    "outside_mm": "mm",
    "across_flats_mm": "mm",
}
_CODE_WORDS = re.compile(r"[^\W\d_]{3,}")
"""Words of an engine's code: "tern" finds tern-80, also where nothing else says it."""
_WORDS = ("description", "thread", "form", "clearance")
_FIRST_WORD = 4
_FIRST_SIZE = _FIRST_WORD + len(_WORDS)


def build_analyser(connection: Connection) -> Analyser:
    """The analyser with the trade names that are stored now; the same names give the same one."""
    table = get_table("trade_name")
    rows = connection.execute(
        select(table.c.part_type, table.c.name).order_by(table.c.part_type, table.c.name)
    )
    return build_trade_analyser(tuple((part_type, name) for part_type, name in rows))


def list_keys(part_number: str) -> tuple[Key, ...]:
    """Keys of a part number; the look-alike key only where it differs from the plain one.

    Example:
        >>> [(kind.name, key) for kind, key in list_keys("a-50")]
        [('PLAIN', 'A50'), ('REVERSED', '05A')]
    """
    key = format_key(part_number)
    if not key:
        return ()
    look_alike = format_look_alike(key)
    plain: tuple[Key, ...] = ((KeyKind.PLAIN, key), (KeyKind.REVERSED, key[::-1]))
    return plain if look_alike == key else (*plain, (KeyKind.LOOK_ALIKE, look_alike))


def read_parts(connection: Connection, part_ids: Collection[int]) -> Iterator[Entry]:
    """Entries of parts; ids that are not stored are left out."""
    ordered = sorted(part_ids)
    column = get_table("part").c.id
    for start in range(0, len(ordered), IDS_PER_QUESTION):
        group = ordered[start : start + IDS_PER_QUESTION]
        yield from _build_parts(connection.execute(_select_parts().where(_is_among(column, group))))


def _is_among(column: ColumnElement[int], ordered: Sequence[int]) -> ColumnElement[bool]:
    """Condition that an id is one of some: a run of ids as one, a single one so that its plan can be kept."""
    first, last = ordered[0], ordered[-1]
    if first == last:
        return column == first
    return column.between(first, last) if last - first < len(ordered) else column.in_(ordered)


def read_all_parts(connection: Connection, *, after: int = 0) -> Iterator[Entry]:
    """Entries of all parts with an id above ``after``, in order of their ids."""
    column = get_table("part").c.id
    while True:
        ids = connection.execute(
            select(column).where(column > after).order_by(column).limit(IDS_PER_QUESTION)
        ).scalars()
        group = list(ids)
        if not group:
            return
        yield from read_parts(connection, group)
        after = group[-1]


@cache
def _select_parts() -> Select[Any]:
    part, maker, record = (get_table(name) for name in ("part", "maker", "part_record"))
    return (
        select(
            part.c.id,
            part.c.part_number,
            part.c.part_type,
            maker.c.maker,
            *(record.c[name] for name in (*_WORDS, *_UNITS)),
        )
        .select_from(part.join(maker).outerjoin(record))
        .order_by(part.c.id, record.c.id)
    )


def _build_parts(rows: Iterable[Any]) -> Iterator[Entry]:
    for part_id, records in groupby(rows, key=itemgetter(0)):
        said = list(records)
        _, part_number, part_type, maker = said[0][:_FIRST_WORD]
        sizes = {
            (value, unit): None
            for row in said
            for value, unit in zip(row[_FIRST_SIZE:], _UNITS.values(), strict=True)
            if value is not None
        }
        text = RowText(
            part_number,
            maker,
            _join_texts(word for row in said for word in row[_FIRST_WORD:_FIRST_SIZE] if word),
            concepts=list_known_concepts(part_type),
            ruled_out=list_ruled_out_concepts(part_type),
            sizes=tuple(sizes),
        )
        yield get_part_entry_id(part_id), text, list_keys(part_number)


def _join_texts(texts: Iterable[str]) -> str:
    """Texts in a row, without those that were said already."""
    joined = ""
    for text in texts:
        if text.casefold() not in joined.casefold():
            joined = f"{joined}; {text}" if joined else text
    return joined


def read_engines(connection: Connection, engine_ids: Collection[int] | None = None) -> Iterator[Entry]:
    """Entries of engines with their vehicles; of all engines when no ids are given."""
    engine, family, vehicle = (get_table(name) for name in ("engine", "family", "vehicle"))
    statement = (
        select(
            engine.c.id,
            engine.c.engine,
            engine.c.designation,
            engine.c.bore_mm,
            engine.c.stroke_mm,
            engine.c.name,
            family.c.family,
            vehicle.c.make,
            vehicle.c.model,
        )
        .select_from(engine.outerjoin(family).outerjoin(vehicle, vehicle.c.engine_id == engine.c.id))
        .order_by(engine.c.id, vehicle.c.id)
    )
    if engine_ids is None:
        yield from _build_engines(connection.execute(statement))
        return
    ordered = sorted(engine_ids)
    for start in range(0, len(ordered), IDS_PER_QUESTION):
        group = ordered[start : start + IDS_PER_QUESTION]
        yield from _build_engines(connection.execute(statement.where(engine.c.id.in_(group))))


def _build_engines(rows: Iterable[Any]) -> Iterator[Entry]:
    for engine_id, vehicles in groupby(rows, key=itemgetter(0)):
        said = list(vehicles)
        _, code, designation, bore_mm, stroke_mm, name, family, _, _ = said[0]
        texts = [text for text in ("engine", name, family, *_CODE_WORDS.findall(code)) if text]
        models = [f"{make} {model}" for *_, make, model in said if make]
        sizes = tuple((value, "mm") for value in (bore_mm, stroke_mm) if value)
        text = RowText(
            designation or "",
            "",
            _join_texts([*texts, *models]),
            ruled_out=list_ruled_out_concepts("engine"),  # "with wider belt" is no belt
            codes=tuple(filter(None, (code, designation))),
            sizes=sizes,
        )
        keys = dict.fromkeys((*list_keys(code), *list_keys(designation or "")))
        yield get_engine_entry_id(engine_id), text, tuple(keys)
