"""Parts by number, maker or GTIN, with their sizes as sources state them."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.shelf import split_ids
from kb.lookups.sources import find_sources
from kb.lookups.typed_text import is_storable
from kb.notation.maker import build_maker_key
from kb.notation.part_number import part_number_key
from kb.notation.reading import show_text
from kb.rules.fit.values import PartRef, PartSize
from kb.rules.nearest import find_nearest, format_nearest
from kb.rules.source import SourceRef
from kb.tables.columns import get_table
from kb.terms import PartStatus, PartType

SIZE_NAMES = tuple(item.name for item in fields(PartSize))


@dataclass(frozen=True, slots=True)
class PartStatement:
    """What one source says of a part."""

    source: SourceRef
    size: PartSize
    description: str | None
    gtin: str | None
    status: PartStatus | None


@dataclass(frozen=True, slots=True)
class StoredPart:
    """A part of the catalogue with everything that sources say of it, the best source first."""

    id: int
    ref: PartRef
    gtin: str | None
    statements: tuple[PartStatement, ...]

    @property
    def size(self) -> PartSize:
        """Each number from the best source that states it."""
        return merge_sizes([statement.size for statement in self.statements])

    @property
    def rival_sizes(self) -> tuple[PartSize, ...]:
        """Sizes that equally good sources state differently, with gaps filled from the others."""
        if len(self.statements) < 2:
            return ()
        best_rank = self.statements[0].source.rank
        sizes = [statement.size for statement in self.statements]
        rivals = [
            merge_sizes([statement.size, *sizes])
            for statement in self.statements[1:]
            if statement.source.rank == best_rank
        ]
        return tuple(rival for rival in rivals if rival != self.size)


def merge_sizes(sizes: Sequence[PartSize]) -> PartSize:
    """Each number from the first size that states it; the kind of a length only with that very length.

    Example:
        >>> merge_sizes([PartSize(length_mm=743.0), PartSize(length_mm=741.0, angle_deg=30.0)]).angle_deg
        30.0
    """
    if len(sizes) == 1:
        return sizes[0]
    merged: dict[str, Any] = {
        name: next((value for size in sizes if (value := getattr(size, name)) is not None), None)
        for name in SIZE_NAMES
    }
    kinds = (size.length_kind for size in sizes if size.length_mm == merged["length_mm"])
    merged["length_kind"] = next((kind for kind in kinds if kind is not None), None)
    return PartSize(**merged)


def find_parts(session: Session, condition: ColumnElement[bool], *, limit: int = 200) -> list[StoredPart]:
    """Parts whose ``part`` row (joined with ``maker``) meets a condition, by maker and number."""
    part, maker = get_table("part"), get_table("maker")
    statement = (
        select(part.c.id, maker.c.maker, part.c.part_number, part.c.part_type)
        .select_from(part.join(maker))
        .where(condition)
        .order_by(maker.c.maker, part.c.part_number)
        .limit(limit)
    )
    return _complete(session, session.execute(statement).all())


def find_parts_by_id(session: Session, part_ids: Collection[int]) -> dict[int, StoredPart]:
    """Parts by id."""
    part = get_table("part")
    found: dict[int, StoredPart] = {}
    for group in split_ids(part_ids):
        found.update({item.id: item for item in find_parts(session, part.c.id.in_(group), limit=len(group))})
    return found


def read_sizes(session: Session, part_ids: Collection[int]) -> dict[int, PartSize]:
    """Sizes of parts by id, each number from the best source that states it."""
    statements = _read_statements(session, part_ids)
    return {part_id: merge_sizes([item.size for item in stated]) for part_id, stated in statements.items()}


def _complete(session: Session, rows: Sequence[Any]) -> list[StoredPart]:
    statements = _read_statements(session, [row.id for row in rows])
    return [_build_part(row, statements.get(row.id, ())) for row in rows]


def _build_part(row: Any, statements: Sequence[PartStatement]) -> StoredPart:
    def first(name: str) -> Any:
        return next((value for item in statements if (value := getattr(item, name)) is not None), None)

    ref = PartRef(row.maker, row.part_number, PartType(row.part_type), first("description"), first("status"))
    return StoredPart(row.id, ref, first("gtin"), tuple(statements))


def _read_statements(session: Session, part_ids: Collection[int]) -> dict[int, list[PartStatement]]:
    record = get_table("part_record")
    rows: list[Any] = []
    for group in split_ids(part_ids):
        rows.extend(session.execute(select(record).where(record.c.part_id.in_(group))))
    sources = find_sources(session, {row.source_id for row in rows})
    found: dict[int, list[PartStatement]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (sources[row.source_id].rank, sources[row.source_id].source)):
        values = row._mapping
        found[row.part_id].append(
            PartStatement(
                source=sources[row.source_id],
                size=PartSize(**{name: values[name] for name in SIZE_NAMES}),
                description=values["description"],
                gtin=values["gtin"],
                status=PartStatus(values["status"]) if values["status"] else None,
            )
        )
    return found


def find_parts_by_number(session: Session, number: str, *, maker_key: str | None = None) -> list[StoredPart]:
    """Parts with this number: as given where that exists, else by its letters and digits."""
    part, maker = get_table("part"), get_table("maker")
    key = part_number_key(number)
    if not key or not is_storable(key):
        return []
    condition = part.c.part_number_key == key
    if maker_key is not None:
        condition = condition & (maker.c.maker_key == maker_key)
    found = find_parts(session, condition)
    exact = [item for item in found if item.ref.part_number == number]
    return exact or found


def find_parts_by_gtin(session: Session, gtin14: str) -> list[StoredPart]:
    """Parts to which a source gives this article number."""
    part, record = get_table("part"), get_table("part_record")
    return find_parts(session, part.c.id.in_(select(record.c.part_id).where(record.c.gtin == gtin14)))


def find_maker(session: Session, name: str) -> tuple[str, str] | None:
    """Stored spelling and key of a maker's name, case and punctuation aside."""
    maker = get_table("maker")
    key = build_maker_key(name)
    if not is_storable(key):
        return None
    row = session.execute(select(maker.c.maker, maker.c.maker_key).where(maker.c.maker_key == key)).first()
    return (row.maker, row.maker_key) if row else None


def get_part(session: Session, maker: str, part_number: str) -> StoredPart:
    """The part of this maker with this number.

    Raises:
        NotFound: the maker or the number is unknown; the message names the nearest.
    """
    known = find_maker(session, maker)
    if known is None:
        raise refuse_maker(session, maker)
    found = find_parts_by_number(session, part_number, maker_key=known[1])
    if len(found) == 1:
        return found[0]
    if found:
        numbers = [item.ref.part_number for item in found]
        raise NotFound(
            f"Part number '{show_text(part_number)}' of {known[0]} may be any of {_join(numbers)}; "
            "write it exactly.",
            nearest=numbers,
        )
    nearest = find_nearest_numbers(session, part_number, maker_key=known[1])
    raise NotFound(_say_unknown(f"Part '{show_text(part_number)}' of {known[0]}", nearest), nearest=nearest)


def refuse_maker(session: Session, name: str) -> NotFound:
    """The refusal of a maker that is not in the catalogue, naming the nearest."""
    makers = session.execute(select(get_table("maker").c.maker)).scalars().all()
    nearest = find_nearest(name, makers, limit=3)
    message = f"Maker '{show_text(name)}' is not in the catalogue; {format_nearest(name, makers)}."
    return NotFound(message, nearest=nearest)


def find_nearest_numbers(session: Session, number: str, *, maker_key: str | None = None) -> list[str]:
    """Part numbers most like a text; looked for among those that share its beginning."""
    part, maker = get_table("part"), get_table("maker")
    key = part_number_key(number)
    for length in (3, 2, 1):
        start = key[:length]
        if not start or not is_storable(start):
            break
        statement = (
            select(part.c.part_number)
            .select_from(part.join(maker))
            .where(
                part.c.part_number_key >= start, part.c.part_number_key < start[:-1] + chr(ord(start[-1]) + 1)
            )
            .order_by(part.c.part_number_key)  # so that equally near ones are told in one order
            .limit(5000)
        )
        if maker_key is not None:
            statement = statement.where(maker.c.maker_key == maker_key)
        nearest = find_nearest(number, session.execute(statement).scalars().all(), limit=3)
        if nearest:
            return nearest
    return []


def _say_unknown(what: str, nearest: Sequence[str]) -> str:
    if not nearest:
        hint = "no stored name is near it"
    elif len(nearest) == 1:
        hint = f"the nearest spelling is {_join(nearest)}"
    else:
        hint = f"the nearest spellings are {_join(nearest)}"
    return f"{what} is not in the catalogue; {hint}."


def _join(names: Sequence[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)
