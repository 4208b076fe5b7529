"""May this worn part go back: the limits that sources state for an engine, and the verdict on a reading."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import BadInput
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.needs import find_drive, list_needs
from kb.lookups.places import get_position
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.values import BeltNeed, Need, RollerNeed, SizeNeed, SpringNeed
from kb.rules.gauge import gauge_reading
from kb.rules.gauge_values import GaugeAnswer, GaugeLimit, GaugeMachine, GaugeReading, GaugeState
from kb.rules.nearest import find_nearest
from kb.rules.quantity import find_unit, parse_quantity
from kb.rules.reading_value import convert_to_unit, find_number, parse_reading_value
from kb.tables.columns import get_table
from kb.terms import LimitSense, Position

_WORST_FIRST = (GaugeState.REPLACE, GaugeState.NEAR_LIMIT, GaugeState.NOT_KNOWN, GaugeState.GOOD)
# Columns of the need files: quantity → size when new, limit.
_NEED_COLUMNS: dict[type, dict[str, tuple[str, str | None, LimitSense | None]]] = {
    BeltNeed: {
        "top_width": ("top_width_mm", "top_width_limit_mm", LimitSense.MIN),
        "length": ("length_mm", None, None),
        "thickness": ("thickness_mm", None, None),
    },
    RollerNeed: {
        "diameter": ("diameter_mm", "diameter_limit_mm", LimitSense.MIN),
        "width": ("width_mm", None, None),
        "mass": ("mass_g", None, None),
    },
    SpringNeed: {"free_length": ("free_length_mm", "free_length_limit_mm", None)},
    SizeNeed: {
        "bore": ("bore_mm", None, None),
        "outside": ("outside_mm", None, None),
        "width": ("width_mm", None, None),
    },
}


@dataclass(frozen=True, slots=True)
class GaugeQuestion:
    """A measured value as a person gives it; a value without a unit is in the unit of the record."""

    engine: str
    position: str
    quantity: str
    value: str


@dataclass(frozen=True, slots=True)
class PartLimit:
    """Size when new and limit of a quantity at a position, as one source states them."""

    position: Position
    quantity: str
    limit: GaugeLimit
    is_wear: bool = True
    """Whether a source states it as a limit of wear; False for a plain size of a need."""


@dataclass(frozen=True, slots=True)
class GaugeResult:
    """The verdict, the same reading held against every source, and what is known of the machine.

    ``by_source`` holds one verdict per source that states a limit; ``conflict`` is True when they differ
    in the state. Then ``answer`` is the most cautious one of the best rank.
    """

    answer: GaugeAnswer
    by_source: tuple[GaugeAnswer, ...]
    conflict: bool
    machine: GaugeMachine


def gauge_part(session: Session, question: GaugeQuestion) -> GaugeResult:
    """The verdict on a measured value.

    Raises:
        NotFound: engine or position is unknown.
        BadInput: the value is no number, below zero, or in a unit of another kind.
    """
    engine = get_engine(session, question.engine)
    position = get_position(question.position)
    quantity = parse_quantity(question.quantity, position=position)
    known = list_part_limits(session, engine.id, position)
    limits = [item.limit for item in known if item.quantity == quantity]
    machine = find_machine(session, engine)
    unit = limits[0].unit if limits else None
    value = parse_reading_value(question.value, unit=unit, quantity=quantity)
    reading = GaugeReading(engine.engine, position, quantity, value)
    if not limits:
        given = find_number(question.value)
        bare = GaugeLimit(unit=(given[1] if given else None) or find_unit(quantity))
        answer = gauge_reading(reading, bare, machine=machine)
        return GaugeResult(_name_known(answer, known), (), conflict=False, machine=machine)
    return _judge(reading, limits, machine)


def _judge(reading: GaugeReading, limits: Sequence[GaugeLimit], machine: GaugeMachine) -> GaugeResult:
    """The reading, in the unit of the first limit, held against every limit, each in its own unit."""
    answers = tuple(
        gauge_reading(held, limit, machine=machine)
        for limit in limits
        if (held := _convert(reading, limits[0].unit, limit.unit)) is not None
    )
    stating = tuple(answer for answer in answers if answer.limit is not None) or answers[:1]
    best_rank = _rank(stating[0])
    equals = [answer for answer in stating if _rank(answer) == best_rank]
    chosen = min(equals, key=lambda answer: _WORST_FIRST.index(answer.state))
    conflict = len({answer.state for answer in stating}) > 1
    if conflict:
        said = "; ".join(
            f"{answer.source.source if answer.source else 'a source'}: limit {answer.limit:g}"
            for answer in stating
            if answer.limit is not None
        )
        caution = f"Sources differ on the limit ({said}); the more cautious of the best ones is shown."
        chosen = replace(chosen, cautions=(caution, *chosen.cautions))
    return GaugeResult(chosen, stating, conflict=conflict, machine=machine)


def _convert(reading: GaugeReading, unit: str | None, wanted: str | None) -> GaugeReading | None:
    """The reading in another unit; None where the two units measure different things."""
    if unit is None or wanted is None or unit == wanted:
        return reading
    try:
        value = convert_to_unit(reading.value, unit, unit=wanted, quantity=reading.quantity)
    except BadInput:
        return None
    return replace(reading, value=round(value, 6))


def _rank(answer: GaugeAnswer) -> int:
    return answer.source.rank if answer.source else 9


def _name_known(answer: GaugeAnswer, known: Sequence[PartLimit]) -> GaugeAnswer:
    names = list(dict.fromkeys(item.quantity for item in known))
    if not names:
        text = f"{answer.text} Nothing is recorded of this position of '{answer.engine}'."
    else:
        nearest = find_nearest(answer.quantity, names)
        meant = f"; the nearest is '{nearest[0]}'" if nearest else ""
        text = f"{answer.text} Recorded here: {', '.join(names)}{meant}."
    return replace(answer, text=text)


def list_part_limits(session: Session, engine_id: int, position: Position) -> tuple[PartLimit, ...]:
    """Limits at a position, the best source first: the rows of wear limits, else those of the needs.

    What a row of wear limits leaves open (size when new, limit) is taken from the need of the same engine.
    """
    needs = _list_need_limits(list_needs(session, engine_id, position), position)
    table = get_table("wear_limit")
    statement = select(table).where(table.c.engine_id == engine_id, table.c.position == str(position))
    rows = [
        PartLimit(position, parse_quantity(row.quantity, position=position), _build_limit(row, source))
        for row, source in read_sourced_rows(session, statement)
    ]
    found = [replace(item, limit=_complete(item, needs)) for item in rows]
    limited = {item.quantity for item in found if item.limit.limit is not None}
    found += [item for item in needs if item.quantity not in limited and not _is_stated(item, found)]
    return tuple(found)


def _is_stated(item: PartLimit, found: Sequence[PartLimit]) -> bool:
    return any(other.quantity == item.quantity and other.limit == item.limit for other in found)


def _build_limit(row: Any, source: Any) -> GaugeLimit:
    return GaugeLimit(
        nominal=row.nominal,
        limit=row.limit,
        sense=LimitSense(row.sense) if row.sense else None,
        unit=find_unit(row.quantity, unit=row.unit),
        source=source,
    )


def _complete(item: PartLimit, needs: Sequence[PartLimit]) -> GaugeLimit:
    limit = item.limit
    for need in needs:
        if need.quantity == item.quantity and limit.nominal is None and limit.unit in (None, need.limit.unit):
            limit = replace(limit, nominal=need.limit.nominal, unit=need.limit.unit)
    return limit


def _list_need_limits(needs: Sequence[Need], position: Position) -> list[PartLimit]:
    found = []
    for need in needs:
        for quantity, (nominal, limit, sense) in _NEED_COLUMNS.get(type(need), {}).items():
            values = (getattr(need, nominal), getattr(need, limit) if limit else None)
            if values == (None, None):
                continue
            unit = "g" if nominal.endswith("_g") else "mm"
            stated = GaugeLimit(values[0], values[1], sense if values[1] else None, unit, need.source)
            found.append(PartLimit(position, quantity, stated, is_wear=limit is not None))
    return found


def find_machine(session: Session, engine: EngineRef) -> GaugeMachine:
    """What is known of an engine that turns wear into a consequence, by the best source of each."""
    belts = list_needs(session, engine.id, Position.DRIVE_BELT)
    rollers = list_needs(session, engine.id, Position.ROLLERS)
    springs = list_needs(session, engine.id, Position.CONTRA_SPRING)
    return GaugeMachine(
        belt=belts[0] if belts and isinstance(belts[0], BeltNeed) else None,
        rollers=rollers[0] if rollers and isinstance(rollers[0], RollerNeed) else None,
        contra_spring=springs[0] if springs and isinstance(springs[0], SpringNeed) else None,
        drive=find_drive(session, engine.id),
    )
