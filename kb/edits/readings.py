"""Lines of the bench book: machines, and what was measured on them. A line is never changed or removed.

The same line sent twice is written once: its key is the one that the writer gave it, else a digest of what it
says. A key that was used for another line is refused.
"""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import insert, select
from sqlmodel import Session

from kb.edits.upsert import build_insert
from kb.errors import BadInput, Conflict
from kb.mechanics.plausible_input import check_not_negative
from kb.rules.machine_label import fold_label
from kb.rules.quantity import find_unit, parse_quantity
from kb.tables.columns import get_table
from kb.terms import Position

LONGEST_LABEL = 60
LONGEST_NOTE = 500
LONGEST_KEY = 255
LARGEST_ODOMETER_KM = 1_000_000.0


@dataclass(frozen=True, slots=True)
class NewReading:
    """A measured value, the fitting of a new part (``replaced``), or both: the new part measured.

    ``value`` is in ``unit``, that of the limit row (mm where it states none); ``key`` names the line.
    """

    position: Position
    quantity: str
    value: float | None = None
    unit: str | None = None
    odometer_km: float | None = None
    taken_on: date | None = None
    replaced: bool = False
    note: str | None = None
    key: str | None = None


def add_machine(
    session: Session, label: str, *, engine_id: int, now: datetime, note: str | None = None
) -> int:
    """Id of the machine with this label, made where there is none.

    Raises:
        BadInput: the label has no letters or digits, or is too long.
        Conflict: the machine is known with another engine.
    """
    shown, key = _check_label(label)
    table = get_table("machine")
    connection = session.connection()
    connection.execute(
        build_insert(connection, table)
        .values(label=shown, label_key=key, engine_id=engine_id, note=note, made_at_utc=now)
        .on_conflict_do_nothing(index_elements=["label_key"])
    )
    row = connection.execute(select(table.c.id, table.c.engine_id).where(table.c.label_key == key)).one()
    if row.engine_id != engine_id:
        raise Conflict(
            f"Machine '{shown}' is known with another engine; use another label if an engine was swapped, "
            "so that readings of two engines don't mix."
        )
    return int(row.id)


def _check_label(label: str) -> tuple[str, str]:
    shown = " ".join(label.split())
    key = fold_label(shown)
    if not key or len(shown) > LONGEST_LABEL:
        raise BadInput(
            f"Label '{shown[:LONGEST_LABEL]}' does not name a machine; write its plate or another label of "
            f"1 to {LONGEST_LABEL} characters with letters or digits.",
            field="machine",
        )
    return shown, key


def add_reading(session: Session, machine_id: int, new: NewReading, *, now: datetime) -> bool:
    """Write a line of the bench book; False when the very line stands there already.

    Raises:
        BadInput: neither a value nor a new part, a number below zero, or an odometer that can't be.
        Conflict: the key was used for another line.
    """
    values = _build_values(machine_id, new)
    key = _check_key(new.key) or _digest(values)
    table = get_table("reading")
    connection = session.connection()
    stored = connection.execute(select(table).where(table.c.entry_key == key)).first()
    if stored is not None:
        if any(stored._mapping[name] != value for name, value in values.items()):
            shown = new.key or "of the line"
            raise Conflict(f"Key '{shown[:60]}' was used for another reading; give this one its own.")
        return False
    connection.execute(insert(table).values(**values, entry_key=key, made_at_utc=now))
    return True


def _build_values(machine_id: int, new: NewReading) -> dict[str, Any]:
    quantity = parse_quantity(new.quantity, position=new.position)
    if new.value is None and not new.replaced:
        raise BadInput(
            f"Reading of '{quantity}' has neither a value nor a new part; write what was measured.",
            field="value",
        )
    if new.value is not None:
        check_not_negative(quantity, new.value)
    if new.odometer_km is not None:
        check_not_negative("odometer_km", new.odometer_km)
        if new.odometer_km > LARGEST_ODOMETER_KM:
            raise BadInput(
                f"Odometer '{new.odometer_km:g}' km is more than any scooter runs; write kilometres.",
                field="odometer_km",
            )
    return {
        "machine_id": machine_id,
        "position": str(new.position),
        "quantity": quantity,
        "value": new.value,
        "unit": new.unit or find_unit(quantity),
        "odometer_km": new.odometer_km,
        "taken_on": new.taken_on,
        "replaced": new.replaced,
        "note": (new.note or "").strip()[:LONGEST_NOTE] or None,
    }


def _check_key(key: str | None) -> str | None:
    if key is None:
        return None
    if not 1 <= len(key) <= LONGEST_KEY:
        raise BadInput(
            f"Key of a reading has {len(key)} characters; 1 to {LONGEST_KEY} are allowed.", field="key"
        )
    return f"given:{key}"


def _digest(values: dict[str, Any]) -> str:
    said = "\x1f".join(f"{name}={values[name]!r}" for name in sorted(values))
    return f"said:{hashlib.sha256(said.encode()).hexdigest()}"
