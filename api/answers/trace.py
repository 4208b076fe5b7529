"""Likely causes for what a rider says, as JSON."""

from typing import Any

from pydantic import ConfigDict

from api.answers.card import shape_card_limit, shape_card_part, shape_card_tool
from api.answers.shape import Answer, CautionAnswer, shape_caution
from kb.lookups.trace import TracedCause, TraceResult
from kb.rules.card.values import CardLimit

TRACE_EXAMPLE: dict[str, Any] = {
    "text": "slower than it used to be",
    "engine": "plover-50-s",
    "symptoms": [
        {
            "symptom": "top_speed_fading",
            "title": "Top speed fades over weeks",
            "score": 1.0,
            "certainty": "probable",
            "phrase": "slower than it used to be",
            "note": None,
        }
    ],
    "causes": [],
    "more_count": 0,
    "known_symptoms": [],
    "cautions": [],
}


class CauseAnswer(Answer):
    """A place to look at: how to check it, its limit, and what it would need on this engine."""

    cause: str
    position: str | None
    check: str | None
    quantity: str | None
    job: str | None
    hazards: list[CautionAnswer]
    limits: list[dict[str, Any]]
    part: dict[str, Any] | None
    tools: list[dict[str, Any]]


class TraceAnswer(Answer):
    """Symptoms that the words may mean, and likely causes in the order in which to look."""

    text: str
    engine: str | None
    symptoms: list[dict[str, Any]]
    causes: list[CauseAnswer]
    cautions: list[str]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [TRACE_EXAMPLE]})


def shape_trace(result: TraceResult) -> dict[str, Any]:
    """The answer as JSON."""
    answer = result.answer
    return {
        "text": answer.text,
        "engine": result.engine,
        "symptoms": [
            {
                "symptom": match.symptom.symptom,
                "title": match.symptom.title,
                "score": match.score,
                "certainty": str(match.certainty),
                "phrase": match.phrase,
                "note": match.symptom.note,
            }
            for match in answer.matches
        ],
        "causes": [_shape_cause(item, place) for place, item in enumerate(result.causes, start=1)],
        "more_count": result.more_count,
        "known_symptoms": list(result.known_symptoms),
        "cautions": list(answer.cautions),
    }


def _shape_cause(item: TracedCause, place: int) -> dict[str, Any]:
    cause = item.cause
    return {
        "order": place,
        "position": str(cause.position) if cause.position else None,
        "cause": cause.cause,
        "check": cause.check,
        "quantity": cause.quantity,
        "job": cause.job,
        "weight": cause.weight,
        "symptoms": list(cause.symptoms),
        "state": str(cause.state) if cause.state else None,
        "source": cause.source,
        "hazards": [shape_caution(caution) for caution in item.cautions],
        "limits": [
            shape_card_limit(CardLimit(limit.position, limit.quantity, limit.limit)) for limit in item.limits
        ],
        "part": shape_card_part(item.part) if item.part else None,
        "tools": [shape_card_tool(tool) for tool in item.tools],
        "tools_missing": [tool.tool for tool in item.tools if not tool.owned],
    }
