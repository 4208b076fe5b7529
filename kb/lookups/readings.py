"""The bench book of a machine: what was measured, how far each part will go, and when to measure again."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.gauge import list_part_limits
from kb.rules.gauge_values import GaugeLimit
from kb.rules.machine_label import fold_label
from kb.rules.nearest import find_nearest, format_nearest
from kb.rules.wear_series import forecast_series
from kb.rules.wear_series_values import SeriesAnswer, SeriesEntry
from kb.tables.columns import get_table
from kb.terms import Position


@dataclass(frozen=True, slots=True)
class MachineRef:
    """A machine as answers name it."""

    id: int
    label: str
    engine: str
    engine_id: int
    note: str | None


@dataclass(frozen=True, slots=True)
class StoredReading:
    """A line of the bench book, in the order in which it was written."""

    value: float | None
    unit: str | None
    odometer_km: float | None
    taken_on: date | None
    replaced: bool
    note: str | None


@dataclass(frozen=True, slots=True)
class Series:
    """Lines of one quantity at one position, the limit they are held against, and the forecast."""

    position: Position
    quantity: str
    readings: tuple[StoredReading, ...]
    limit: GaugeLimit
    answer: SeriesAnswer


@dataclass(frozen=True, slots=True)
class MachineBook:
    """All that is written down about one machine."""

    machine: MachineRef
    series: tuple[Series, ...]


def list_machines(session: Session, *, limit: int = 200, after: str = "") -> tuple[MachineRef, ...]:
    """Machines by label, after the one whose key is given."""
    machine, engine = get_table("machine"), get_table("engine")
    rows = session.execute(
        select(machine.c.id, machine.c.label, engine.c.engine, machine.c.engine_id, machine.c.note)
        .select_from(machine.join(engine))
        .where(machine.c.label_key > after)
        .order_by(machine.c.label_key)
        .limit(limit)
    )
    return tuple(MachineRef(*row) for row in rows)


def get_machine(session: Session, label: str) -> MachineRef:
    """The machine with this label; spaces, dashes and case do not matter.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    machine, engine = get_table("machine"), get_table("engine")
    row = session.execute(
        select(machine.c.id, machine.c.label, engine.c.engine, machine.c.engine_id, machine.c.note)
        .select_from(machine.join(engine))
        .where(machine.c.label_key == fold_label(label))
    ).first()
    if row is not None:
        return MachineRef(*row)
    labels = session.execute(select(machine.c.label)).scalars().all()
    raise NotFound(
        f"Machine '{label[:60]}' has no readings; {format_nearest(label, labels)}.",
        nearest=find_nearest(label, labels),
    )


def read_book(session: Session, label: str) -> MachineBook:
    """All series of a machine with their forecasts.

    Raises:
        NotFound: no such machine.
    """
    machine = get_machine(session, label)
    reading = get_table("reading")
    rows = session.execute(
        select(reading).where(reading.c.machine_id == machine.id).order_by(reading.c.id)
    ).all()
    places = dict.fromkeys((Position(row.position), row.quantity) for row in rows)
    return MachineBook(
        machine=machine,
        series=tuple(_build_series(session, machine, place, _list_lines(rows, *place)) for place in places),
    )


def _list_lines(rows: Sequence[Any], position: Position, quantity: str) -> list[StoredReading]:
    """Lines of a quantity; a new part at the position starts a new series of each of its quantities."""
    lines = []
    for row in rows:
        if row.position != str(position):
            continue
        if row.quantity == quantity:
            lines.append(_build(row))
        elif row.replaced:
            lines.append(replace(_build(row), value=None, unit=None))
    return lines


def _build(row: object) -> StoredReading:
    names = ("value", "unit", "odometer_km", "taken_on", "replaced", "note")
    return StoredReading(*(getattr(row, name) for name in names))


def _build_series(
    session: Session, machine: MachineRef, place: tuple[Position, str], lines: Sequence[StoredReading]
) -> Series:
    position, quantity = place
    limit = find_limit(session, machine.engine_id, position, quantity)
    entries = [
        SeriesEntry(line.value, line.odometer_km, line.taken_on, is_new_part=line.replaced) for line in lines
    ]
    return Series(
        position=position,
        quantity=quantity,
        readings=tuple(lines),
        limit=limit,
        answer=forecast_series(entries, limit, position=position),
    )


def find_limit(session: Session, engine_id: int, position: Position, quantity: str) -> GaugeLimit:
    """The limit by the best source that states one; nothing known where none does."""
    known = [
        item.limit for item in list_part_limits(session, engine_id, position) if item.quantity == quantity
    ]
    stating = [limit for limit in known if limit.limit is not None]
    return next(iter((*stating, *known)), GaugeLimit())


def count_readings(session: Session, machine_id: int) -> int:
    """Lines written down about a machine."""
    reading = get_table("reading")
    statement = select(func.count()).select_from(reading).where(reading.c.machine_id == machine_id)
    return int(session.execute(statement).scalar_one())
