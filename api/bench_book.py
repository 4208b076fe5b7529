"""Writing a line of the bench book: what the command line, the API and the page have in common."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from kb.edits.readings import NewReading, add_machine, add_reading
from kb.errors import BadInput, NotFound
from kb.lookups.engines import get_engine
from kb.lookups.places import get_position
from kb.lookups.readings import find_limit, get_machine
from kb.rules.quantity import parse_quantity
from kb.rules.reading_value import parse_reading_value


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A line as a person gives it; numbers are texts, with or without a unit."""

    position: str
    quantity: str
    value: str | None = None
    odometer: str | None = None
    taken_on: date | None = None
    replaced: bool = False
    engine: str | None = None
    note: str | None = None
    key: str | None = None


def write_reading(session: Session, label: str, line: ReadingLine, *, now: datetime) -> bool:
    """Write a line; False when it stands there already.

    Raises:
        NotFound: position or engine is unknown, or the machine is new and no engine was named.
        BadInput: a value or odometer that is no number.
        Conflict: the machine is known with another engine.
    """
    position = get_position(line.position)
    quantity = parse_quantity(line.quantity, position=position)
    engine_id = _find_engine(session, label, line.engine)
    unit = find_limit(session, engine_id, position, quantity).unit
    value = parse_reading_value(line.value, unit=unit, quantity=quantity) if line.value else None
    odometer = parse_reading_value(line.odometer, unit="km", quantity="odometer") if line.odometer else None
    machine_id = add_machine(session, label, engine_id=engine_id, now=now)
    new = NewReading(
        position=position,
        quantity=quantity,
        value=value,
        unit=unit,
        odometer_km=odometer,
        taken_on=line.taken_on,
        replaced=line.replaced,
        note=line.note,
        key=line.key,
    )
    return add_reading(session, machine_id, new, now=now)


def _find_engine(session: Session, label: str, code: str | None) -> int:
    if code:
        return get_engine(session, code).id
    try:
        return get_machine(session, label).engine_id
    except NotFound as error:
        raise BadInput(
            f"Machine '{label[:60]}' is new; name its engine too, so that its limits are known.",
            field="engine",
        ) from error
