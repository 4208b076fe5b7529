"""Everything recorded of one part: sizes per source, fits, replacements, stock, offers."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, select
from sqlmodel import Session

from kb.lookups.parts import StoredPart, find_parts_by_id, get_part
from kb.lookups.shelf import find_on_hand, has_hidden_costs
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.values import PartRef
from kb.rules.source import SourceRef
from kb.tables.columns import get_table
from kb.terms import Outcome, Position, ReplacementKind


@dataclass(frozen=True, slots=True)
class FitStatement:
    """Somebody's statement that the part did or did not fit an engine."""

    engine: str
    engine_name: str | None
    position: Position
    outcome: Outcome
    note: str | None
    seen_on: date | None
    source: SourceRef


@dataclass(frozen=True, slots=True)
class ReplacementStatement:
    """Another part that stands in for this one, or that this one stands in for."""

    part: PartRef
    kind: ReplacementKind
    source: SourceRef


@dataclass(frozen=True, slots=True)
class OfferStatement:
    """A supplier's offer from a minimum quantity on; the price is in minor units of its currency."""

    supplier: str
    supplier_name: str | None
    supplier_sku: str | None
    price_minor: int | None
    currency: str | None
    pack_size: int | None
    minimum_quantity: int | None
    lead_time_days: int | None
    seen_on: date | None


@dataclass(frozen=True, slots=True)
class PartSheet:
    """Everything recorded of one part."""

    part: StoredPart
    fits: tuple[FitStatement, ...]
    replaced_by: tuple[ReplacementStatement, ...]
    replaces: tuple[ReplacementStatement, ...]
    places: tuple[tuple[str, int], ...]
    offers: tuple[OfferStatement, ...]

    @property
    def on_hand(self) -> int:
        """Pieces at all places."""
        return sum(count for _, count in self.places)


def describe_part(session: Session, maker: str, part_number: str) -> PartSheet:
    """Everything recorded of the part of this maker with this number.

    Raises:
        NotFound: the maker or the number is unknown; the message names the nearest.
    """
    part = get_part(session, maker, part_number)
    table = get_table("replacement")
    return PartSheet(
        part=part,
        fits=_list_fits(session, part.id),
        replaced_by=_list_replacements(session, table.c.part_id == part.id, "by_part_id"),
        replaces=_list_replacements(session, table.c.by_part_id == part.id, "part_id"),
        places=tuple(find_on_hand(session, {part.id}).get(part.id, ())),
        offers=_list_offers(session, part.id),
    )


def _list_fits(session: Session, part_id: int) -> tuple[FitStatement, ...]:
    fit, engine = get_table("fit"), get_table("engine")
    statement = (
        select(
            engine.c.engine,
            engine.c.name,
            fit.c.position,
            fit.c.outcome,
            fit.c.note,
            fit.c.seen_on,
            fit.c.source_id,
        )
        .select_from(fit.join(engine, fit.c.engine_id == engine.c.id))
        .where(fit.c.part_id == part_id)
    )
    found = [
        FitStatement(
            engine=row.engine,
            engine_name=row.name,
            position=Position(row.position),
            outcome=Outcome(row.outcome),
            note=row.note,
            seen_on=row.seen_on,
            source=source,
        )
        for row, source in read_sourced_rows(session, statement)
    ]
    return tuple(sorted(found, key=lambda item: (item.engine, item.position)))


def _list_replacements(
    session: Session, condition: ColumnElement[bool], other: str
) -> tuple[ReplacementStatement, ...]:
    rows = read_sourced_rows(session, select(get_table("replacement")).where(condition))
    parts = find_parts_by_id(session, {row._mapping[other] for row, _ in rows})
    return tuple(
        ReplacementStatement(parts[row._mapping[other]].ref, ReplacementKind(row.kind), source)
        for row, source in rows
    )


def _list_offers(session: Session, part_id: int) -> tuple[OfferStatement, ...]:
    if has_hidden_costs(session):
        return ()
    offer, supplier = get_table("offer"), get_table("supplier")
    names = (
        "supplier_sku",
        "price_minor",
        "currency",
        "pack_size",
        "minimum_quantity",
        "lead_time_days",
        "seen_on",
    )
    statement = (
        select(supplier.c.supplier, supplier.c.name, *(offer.c[name] for name in names))
        .select_from(offer.join(supplier))
        .where(offer.c.part_id == part_id)
    )
    found = [
        OfferStatement(row.supplier, row.name, **{name: row._mapping[name] for name in names})
        for row in session.execute(statement)
    ]
    return tuple(sorted(found, key=_rank_offer))


def _rank_offer(offer: OfferStatement) -> tuple[str, int, int]:
    newest_first = -offer.seen_on.toordinal() if offer.seen_on else 0
    return (offer.supplier, newest_first, offer.minimum_quantity or 1)
