"""Which engines remain, which are out and why, and the measurement to take next, as JSON."""

from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer
from kb.lookups.tell_apart import TellApartResult
from kb.rules.next_measurement import NextMeasurement

SHOWN_RULED_OUT = 500
TELL_APART_EXAMPLE: dict[str, Any] = {
    "possible": [{"engine": "plover-50-s", "agrees": ["case_length"], "unknown": []}],
    "ruled_out": [
        {"engine": "plover-50-l", "by": "case_length", "value": 432.0, "asked": 402.0, "tolerance": 2.0}
    ],
    "measure_next": [],
    "inseparable": [],
    "needs_differ": None,
    "notes": [],
    "asked": {"case_length": 402.0},
    "position": None,
}


class TellApartAnswer(Answer):
    """Engines that no fact contradicts, those that one does, and what to measure next, best first."""

    possible: list[dict[str, Any]]
    ruled_out: list[dict[str, Any]]
    measure_next: list[dict[str, Any]]
    inseparable: list[dict[str, Any]]
    needs_differ: bool | None
    notes: list[str]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [TELL_APART_EXAMPLE]})


def shape_tell_apart(result: TellApartResult) -> dict[str, Any]:
    """The answer as JSON; of very many engines ruled out the first ones are listed and all counted."""
    answer = result.answer
    return {
        "possible": [
            {"engine": item.engine, "agrees": list(item.agrees), "unknown": list(item.unknown)}
            for item in answer.possible
        ],
        "possible_count": len(answer.possible),
        "ruled_out": [
            {
                "engine": item.engine,
                "by": item.by,
                "value": item.value,
                "asked": item.asked,
                "tolerance": item.tolerance,
                "unit": item.unit,
                "source": item.source,
                "all_by": list(item.all_by),
            }
            for item in answer.ruled_out[:SHOWN_RULED_OUT]
        ],
        "ruled_out_count": len(answer.ruled_out),
        "measure_next": [_shape_measurement(item) for item in answer.measure_next],
        "inseparable": [
            {
                "engines": list(pair.engines),
                "shared": list(pair.shared),
                "matters": pair.matters,
                "text": pair.text,
            }
            for pair in answer.inseparable
        ],
        "needs_differ": answer.needs_differ,
        "notes": list(answer.notes),
        "asked": dict(result.asked),
        "position": str(result.position) if result.position else None,
    }


def _shape_measurement(item: NextMeasurement) -> dict[str, Any]:
    return {
        "quantity": item.quantity,
        "question": item.question,
        "how": item.how,
        "unit": item.unit,
        "ease": str(item.ease),
        "expected_remaining": round(item.expected_remaining, 3),
        "splits": {value: list(engines) for value, engines in item.splits.items()},
        "not_recorded": list(item.not_recorded),
    }
