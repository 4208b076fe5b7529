"""The bench book of a machine as JSON: readings, forecast, when to measure again."""

from datetime import date
from typing import Any

from pydantic import ConfigDict, Field

from api.answers.shape import Answer, CautionAnswer, shape_caution
from kb.lookups.readings import MachineBook, MachineRef, Series
from kb.rules.tools.cautions import GENERAL_CAUTION, cautions_for_position, rank_cautions

MACHINE_EXAMPLE: dict[str, Any] = {
    "machine": "AB 123",
    "engine": "plover-50-s",
    "note": None,
    "series": [],
    "cautions": [GENERAL_CAUTION],
}


class MachineAnswer(Answer):
    """A machine of the bench book."""

    machine: str
    engine: str
    note: str | None


class SeriesAnswer(Answer):
    """Readings of one quantity with the forecast; distances in km, or in days without an odometer."""

    position: str
    quantity: str
    unit: str | None
    nominal: float | None
    limit: float | None
    state: str
    remaining: float | None
    low: float | None
    high: float | None
    measure_again_km: float | None
    measure_again_on: date | None
    text: str
    readings: list[dict[str, Any]]
    findings: list[dict[str, Any]]
    hazards: list[CautionAnswer]


class BookAnswer(MachineAnswer):
    """All that is written down about one machine."""

    series: list[SeriesAnswer]
    cautions: list[str]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [MACHINE_EXAMPLE]})


class MachineListAnswer(Answer):
    """Machines of the bench book, by label, and the mark of the next page."""

    machines: list[MachineAnswer]
    after: str | None = None


class ReadingPost(Answer):
    """A line for the bench book: a value, a new part, or both. ``engine`` is needed for a new machine."""

    position: str = Field(min_length=1, max_length=60)
    quantity: str = Field(min_length=1, max_length=60)
    value: float | None = Field(None, ge=0, le=1e6)
    odometer_km: float | None = Field(None, ge=0, le=1e6)
    taken_on: date | None = None
    replaced: bool = False
    engine: str | None = Field(None, min_length=1, max_length=60)
    note: str | None = Field(None, max_length=500)

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={
            "examples": [
                {
                    "engine": "plover-50-s",
                    "position": "drive_belt",
                    "quantity": "top_width",
                    "value": 17.4,
                    "odometer_km": 6200,
                    "taken_on": "2026-01-31",
                }
            ]
        },
    )


def shape_machine(machine: MachineRef) -> dict[str, Any]:
    """A machine as lists show it."""
    return {"machine": machine.label, "engine": machine.engine, "note": machine.note}


def shape_book(book: MachineBook) -> dict[str, Any]:
    """The bench book of a machine."""
    return {
        **shape_machine(book.machine),
        "series": [shape_series(item) for item in book.series],
        "cautions": [GENERAL_CAUTION],
    }


def shape_series(item: Series) -> dict[str, Any]:
    """One series with its forecast."""
    answer, limit = item.answer, item.limit
    hazards = rank_cautions(cautions_for_position(item.position))
    return {
        "position": str(item.position),
        "quantity": item.quantity,
        "unit": limit.unit,
        "nominal": limit.nominal,
        "limit": limit.limit,
        "sense": str(limit.sense) if limit.sense else None,
        "source": limit.source.name if limit.source else None,
        "state": str(answer.state),
        "method": str(answer.method),
        "axis": str(answer.axis),
        "reading_count": answer.reading_count,
        "rate": answer.rate,
        "rate_per_1000": None if answer.rate is None else round(answer.rate * 1000.0, 4),
        "level_now": _round(answer.level_now),
        "room": answer.room,
        "remaining": _round(answer.remaining, 0),
        "low": _round(answer.low, 0),
        "high": _round(answer.high, 0),
        "measure_again_km": _round(answer.measure_again_km, 0),
        "measure_again_on": answer.measure_again_on.isoformat() if answer.measure_again_on else None,
        "certainty": str(answer.certainty),
        "text": answer.text,
        "findings": [{"code": str(finding.code), "text": finding.text} for finding in answer.findings],
        "readings": [
            {
                "value": line.value,
                "unit": line.unit,
                "odometer_km": line.odometer_km,
                "taken_on": line.taken_on.isoformat() if line.taken_on else None,
                "replaced": line.replaced,
                "note": line.note,
            }
            for line in item.readings
        ],
        "hazards": [shape_caution(caution) for caution in hazards],
    }


def _round(value: float | None, digits: int = 3) -> float | None:
    return None if value is None else round(value, digits)
