"""The verdict on a worn part as JSON."""

from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer, CautionAnswer, shape_caution, shape_source
from kb.lookups.gauge import GaugeResult
from kb.rules.gauge_values import GaugeAnswer
from kb.rules.tools.cautions import cautions_for_position, rank_cautions

GAUGE_EXAMPLE: dict[str, Any] = {
    "engine": "plover-50-s",
    "position": "drive_belt",
    "quantity": "top_width",
    "value": 16.6,
    "unit": "mm",
    "nominal": 18.0,
    "limit": 16.5,
    "sense": "min",
    "state": "near_limit",
    "used_percent": 93.3,
    "room": 0.1,
    "text": "Top width 16.6 mm, limit 16.5 mm, 0.10 mm left: close to the limit or on it.",
    "findings": [],
    "consequences": [],
    "measure_next": [],
    "source": "man-plover",
    "source_text": "maker's manual",
    "by_source": [],
    "conflict": False,
    "cautions": [],
    "hazards": [],
}


class GaugeVerdictAnswer(Answer):
    """A measured value held against its limit: good, near_limit, replace or not_known."""

    engine: str
    position: str
    quantity: str
    value: float
    unit: str | None
    nominal: float | None
    limit: float | None
    sense: str | None
    state: str
    used_percent: float | None
    text: str
    meaning: str | None = None
    consequences: list[dict[str, Any]]
    measure_next: list[dict[str, Any]]
    source: str | None
    cautions: list[str]
    hazards: list[CautionAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [GAUGE_EXAMPLE]})


def shape_gauge(result: GaugeResult) -> dict[str, Any]:
    """The verdict with what every source says, and the cautions of the position as data."""
    answer = result.answer
    hazards = rank_cautions(cautions_for_position(answer.position))
    return {
        "engine": answer.engine,
        "position": str(answer.position),
        "quantity": answer.quantity,
        "value": answer.value,
        "unit": answer.unit,
        "nominal": answer.nominal,
        "limit": answer.limit,
        "sense": str(answer.sense) if answer.sense else None,
        "state": str(answer.state),
        "used_percent": None if answer.used_percent is None else round(answer.used_percent, 1),
        "room": answer.room,
        "text": answer.text,
        "meaning": answer.meaning,
        "findings": [{"code": str(item.code), "text": item.text} for item in answer.findings],
        "consequences": [
            {
                "quantity": item.quantity,
                "change_percent": _round(item.change_percent),
                "change": _round(item.change),
                "unit": item.unit,
                "text": item.text,
            }
            for item in answer.consequences
        ],
        "measure_next": [{"quantity": item.quantity, "text": item.text} for item in answer.measure_next],
        "source": answer.source.name if answer.source else None,
        "source_text": answer.source.as_text() if answer.source else None,
        "by_source": [_shape_source_verdict(item) for item in result.by_source],
        "conflict": result.conflict,
        "cautions": list(answer.cautions),
        "hazards": [shape_caution(caution) for caution in hazards],
    }


def _shape_source_verdict(answer: GaugeAnswer) -> dict[str, Any]:
    return {
        "state": str(answer.state),
        "nominal": answer.nominal,
        "limit": answer.limit,
        "used_percent": None if answer.used_percent is None else round(answer.used_percent, 1),
        "source": shape_source(answer.source) if answer.source else None,
    }


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
