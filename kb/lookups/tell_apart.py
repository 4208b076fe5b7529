"""Which engines are still possible after what is known of a machine, and what to measure next.

Facts are the rows of the features sheet, and what else is recorded of an engine: bore, stroke, cooling,
the stamp, its belt, its rollers, its fasteners, the vehicles it sits in.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Select, func, select
from sqlmodel import Session

from kb.errors import BadInput
from kb.lookups.engines import get_engine
from kb.lookups.needs import list_needs
from kb.lookups.places import get_position
from kb.rules.feature import Candidate, FeatureValue, Value, unify_units
from kb.rules.fit.shape import list_size_fields
from kb.rules.quantity import parse_quantity
from kb.rules.reading_value import find_number
from kb.rules.tell_apart import PAIR_LIMIT, Needs, TellApartAnswer, compare_engines
from kb.rules.tell_apart_facts import (
    STAMP,
    Facts,
    fill_pattern,
    is_pattern,
    parse_facts,
    prepare_reading,
)
from kb.rules.vehicle_match import VehicleQuestion, VehicleRow, find_vehicle
from kb.tables.columns import get_table
from kb.terms import Position

MOST_FACTS = 40
SHOWN_NEXT = 5
_VEHICLE_NOTE = (
    "A list of vehicles is never complete: an engine ruled out by its vehicles may sit in another."
)
# Table → columns that are facts of an engine, with the quantity and the unit they are asked under.
_COLUMNS: dict[str, tuple[tuple[str, str, str | None], ...]] = {
    "belt_need": (
        ("length_mm", "belt_length", "mm"),
        ("top_width_mm", "belt_top_width", "mm"),
        ("angle_deg", "belt_angle", "deg"),
    ),
    "roller_need": (
        ("diameter_mm", "roller_diameter", "mm"),
        ("width_mm", "roller_width", "mm"),
        ("count", "roller_count", "count"),
    ),
}
_FASTENER_COLUMNS = (("across_flats_mm", "across_flats", "mm"), ("thread", "thread", None))
_ENGINE_COLUMNS = (
    ("designation", STAMP, None),
    ("bore_mm", "bore", "mm"),
    ("stroke_mm", "stroke", "mm"),
    ("strokes", "strokes", "count"),
    ("cooling", "cooling", None),
)
_HOW = {
    "belt_length": "Belt off: tape round the outside of the belt lying in a circle.",
    "belt_top_width": "Cover off: caliper across the back of an unworn belt; wear makes it narrower. ±1 mm",
    "belt_angle": "Belt off: angle gauge between the flanks, or the last number of the belt's code.",
    "roller_diameter": "Drive apart: caliper across an unworn roller.",
    "roller_width": "Drive apart: caliper along a roller.",
    "roller_count": "Drive apart: count the rollers.",
    "bore": "Cylinder off: inside gauge across the bore.",
    "stroke": "Cylinder off: depth rod from top to bottom dead centre.",
}


@dataclass(frozen=True, slots=True)
class TellApartQuestion:
    """Engines to tell apart (none: all), facts as typed, and the part that the answer is for."""

    engines: Sequence[str] = ()
    facts: Sequence[tuple[str, str]] = ()
    position: str | None = None
    skip: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class TellApartResult:
    """The answer; ``asked`` are the facts as they were compared."""

    answer: TellApartAnswer
    asked: dict[str, Value]
    position: Position | None
    candidate_count: int


def tell_engines_apart(session: Session, question: TellApartQuestion) -> TellApartResult:
    """What the facts leave of the engines, and the measurements to take next.

    Raises:
        NotFound: an engine or the position is unknown.
        BadInput: a fact without a name or value, or with a unit of another kind.
    """
    if len(question.facts) > MOST_FACTS:
        raise BadInput(f"More than {MOST_FACTS} facts were given; leave some out.", field="fact")
    position = get_position(question.position) if question.position else None
    facts = parse_facts(question.facts)
    ids = {get_engine(session, code).id for code in question.engines}
    known = None if ids else _find_known(session)
    candidates = known.candidates if known else _read_candidates(session, ids)
    candidates, asked = _prepare(session, candidates, facts)
    skipped = frozenset(parse_quantity(name) for name in question.skip)
    answer = _compare(candidates, asked, known=known, skip_count=len(skipped))
    if position is not None and len(answer.possible) <= PAIR_LIMIT:
        left = {item.engine for item in answer.possible}
        needs = _list_needs(session, sorted(left), position)
        answer = compare_engines(candidates, asked, needs=needs, next_limit=SHOWN_NEXT + len(skipped))
    measure_next = tuple(item for item in answer.measure_next if item.quantity not in skipped)[:SHOWN_NEXT]
    notes = (*answer.notes, *((_VEHICLE_NOTE,) if not facts.vehicle.is_empty else ()))
    answer = replace(answer, measure_next=measure_next, notes=notes)
    return TellApartResult(answer, asked, position, len(candidates))


def _prepare(
    session: Session, candidates: list[Candidate], facts: Facts
) -> tuple[list[Candidate], dict[str, Value]]:
    """Candidates and readings ready to compare: units settled, partial words and vehicles filled in."""
    asked: dict[str, Value] = {}
    for quantity, text in facts.readings.items():
        recorded = [value for item in candidates for value in item.features if value.quantity == quantity]
        asked[quantity] = prepare_reading(text, recorded)
        if is_pattern(asked[quantity]):
            candidates = [fill_pattern(item, quantity, text) for item in candidates]
    if not facts.vehicle.is_empty:
        asked["vehicle"] = _describe_vehicle(facts.vehicle)
        candidates = _add_vehicles(session, candidates, facts.vehicle, asked=str(asked["vehicle"]))
    return candidates, asked


def _describe_vehicle(question: VehicleQuestion) -> str:
    words = (question.text, question.make, question.model, str(question.year or ""))
    return " ".join(word for word in words if word)


def _add_vehicles(
    session: Session, candidates: list[Candidate], question: VehicleQuestion, *, asked: str
) -> list[Candidate]:
    """Engines with a word for their vehicle: the one asked for where it is among them."""
    vehicle, engine = get_table("vehicle"), get_table("engine")
    rows: dict[str, list[VehicleRow]] = defaultdict(list)
    for row in session.execute(
        select(
            engine.c.engine, vehicle.c.make, vehicle.c.model, vehicle.c.year_from, vehicle.c.year_to
        ).select_from(vehicle.join(engine))
    ):
        rows[row[0]].append(VehicleRow(*row[1:]))
    found = []
    for item in candidates:
        known = rows.get(item.engine, [])
        word = asked if find_vehicle(known, question) else "; ".join(row.as_text() for row in known)
        extra = (FeatureValue("vehicle", word),) if known else ()
        found.append(replace(item, features=(*item.features, *extra)))
    return found


# All candidates of a database, kept until it is imported into again: reading them costs more than comparing.
@dataclass(slots=True)
class _Known:
    """Candidates of a database as of a version, and the answer to the question without any fact."""

    version: tuple[Any, ...]
    candidates: list[Candidate]
    first_answer: TellApartAnswer | None = None


_known: WeakKeyDictionary[Any, _Known] = WeakKeyDictionary()


def _find_known(session: Session) -> _Known:
    database, version = session.get_bind().engine, _find_version(session)
    stored = _known.get(database)
    if stored is None or stored.version != version:
        stored = _known[database] = _Known(version, _read_candidates(session, ()))
    return stored


def _compare(
    candidates: list[Candidate], asked: dict[str, Value], *, known: _Known | None, skip_count: int
) -> TellApartAnswer:
    """The answer; the one to the question without any fact is worked out once for each version."""
    if known is None or asked or skip_count:
        return compare_engines(candidates, asked, next_limit=SHOWN_NEXT + skip_count)
    if known.first_answer is None:
        known.first_answer = compare_engines(candidates, asked, next_limit=SHOWN_NEXT)
    return known.first_answer


def _find_version(session: Session) -> tuple[Any, ...]:
    """Changes whenever an import, or taking one back, may have changed a fact."""
    batch, engine, feature = (get_table(name) for name in ("import_batch", "engine", "feature"))
    statement = select(
        select(func.count(batch.c.id)).scalar_subquery(),
        select(func.max(batch.c.id)).scalar_subquery(),
        select(func.count(batch.c.undone_at_utc)).scalar_subquery(),
        select(func.count(engine.c.id)).scalar_subquery(),
        select(func.max(feature.c.id)).scalar_subquery(),
        select(func.count(feature.c.id)).scalar_subquery(),
    )
    return tuple(session.execute(statement).one())


def _read_candidates(session: Session, ids: Collection[int]) -> list[Candidate]:
    engine, source = get_table("engine"), get_table("source")
    columns = [engine.c[name] for name, _, _ in _ENGINE_COLUMNS]
    rows = session.execute(
        _only(select(engine.c.id, engine.c.engine, engine.c.source_id, *columns), engine.c.id, ids).order_by(
            engine.c.engine
        )
    ).all()
    sources = {row[0]: row[1] for row in session.execute(select(source.c.id, source.c.source))}
    features = _read_features(session, ids, sources)
    for name, facts in _COLUMNS.items():
        table = get_table(name)
        statement = select(table.c.engine_id, table.c.source_id, *(table.c[fact[0]] for fact in facts))
        rows_of_table = session.execute(_only(statement, table.c.engine_id, ids)).all()
        _add_columns(rows_of_table, facts, sources, into=features)
    _read_fasteners(session, ids, sources, into=features)
    for row in rows:
        _add_engine_columns(row, sources, features[row[0]])
    return unify_units([Candidate(row[1], tuple(features[row[0]])) for row in rows])


Found = dict[int, list[FeatureValue]]


def _only(statement: Select[Any], column: Any, ids: Collection[int]) -> Select[Any]:
    return statement.where(column.in_(sorted(ids))) if ids else statement


def _read_features(session: Session, ids: Collection[int], sources: dict[int, str]) -> Found:
    feature = get_table("feature")
    statement = select(
        feature.c.engine_id,
        feature.c.quantity,
        feature.c.value,
        feature.c.unit,
        feature.c.how,
        feature.c.source_id,
    ).where(feature.c.value.is_not(None), feature.c.value != "")
    found: Found = defaultdict(list)
    known: dict[tuple[Any, ...], FeatureValue] = {}
    for row in session.execute(_only(statement, feature.c.engine_id, ids)):
        key = tuple(row[1:])
        value = known.get(key)
        if value is None:
            value = known[key] = _build_feature(key, sources)
        found[row[0]].append(value)
    return found


def _build_feature(row: tuple[Any, ...], sources: dict[int, str]) -> FeatureValue:
    name, text, unit, how, source_id = row
    quantity = parse_quantity(name)
    number = None if quantity == STAMP else find_number(text)
    value: Value = text if number is None or number[1] else number[0]
    return FeatureValue(quantity, value, unit, how, sources[source_id])


def _add_columns(
    rows: Sequence[Any],
    facts: tuple[tuple[str, str, str | None], ...],
    sources: dict[int, str],
    *,
    into: Found,
) -> None:
    for row in rows:
        for value, (_, quantity, unit) in zip(row[2:], facts, strict=True):
            if value is not None:
                how = _HOW.get(quantity)
                into[row[0]].append(FeatureValue(quantity, float(value), unit, how, sources[row[1]]))


def _read_fasteners(session: Session, ids: Collection[int], sources: dict[int, str], *, into: Found) -> None:
    table = get_table("fastener")
    columns = [table.c[name] for name, _, _ in _FASTENER_COLUMNS]
    statement = select(table.c.engine_id, table.c.source_id, table.c.position, *columns)
    for row in session.execute(_only(statement, table.c.engine_id, ids)):
        for value, (_, name, unit) in zip(row[3:], _FASTENER_COLUMNS, strict=True):
            if value is not None:
                how = f"{row[2].replace('_', ' ').capitalize()}: read or measure it."
                into[row[0]].append(FeatureValue(f"{row[2]}_{name}", value, unit, how, sources[row[1]]))


def _add_engine_columns(row: Any, sources: dict[int, str], into: list[FeatureValue]) -> None:
    """The engine's own columns, where no feature row states the same quantity."""
    stated = {value.quantity for value in into}
    for value, (_, quantity, unit) in zip(row[3:], _ENGINE_COLUMNS, strict=True):
        if value is not None and quantity not in stated:
            shown: Value = value if isinstance(value, str) else float(value)
            into.append(FeatureValue(quantity, shown, unit, _HOW.get(quantity), sources[row[2]]))


def _list_needs(session: Session, engines: Sequence[str], position: Position) -> Needs:
    """What each engine asks for at a position, by its best source."""
    found: dict[str, dict[str, Value | None]] = {}
    for code in engines:
        needs = list_needs(session, get_engine(session, code).id, position)
        if needs:
            found[code] = {name: getattr(needs[0], name, None) for name in list_size_fields(position)}
    stated = {name for need in found.values() for name, value in need.items() if value is not None}
    return {
        code: {name: value for name, value in need.items() if name in stated} for code, need in found.items()
    }
