"""Verdicts and alternatives as JSON, with the cautions of the position as data."""

from collections.abc import Iterable
from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer, CautionAnswer, shape_caution
from kb.lookups.search.worth_a_look import WorthALook
from kb.rules.fit.shape import shape_verdict
from kb.rules.fit.values import Verdict
from kb.rules.tools.cautions import cautions_for_position, rank_cautions

FIT_EXAMPLE: dict[str, Any] = {
    "outcome": "fits_with_change",
    "certainty": "sure",
    "engine": "plover-50-s",
    "position": "drive_belt",
    "asked": {
        "kind": "part",
        "maker": "Tollwyne",
        "part_number": "TW 669.2",
        "size": {"length_mm": 669.0, "top_width_mm": 17.6, "angle_deg": 30.0, "thickness_mm": 8.0},
    },
    "need": {"length_mm": 669.0, "top_width_mm": 18.0, "angle_deg": 30.0, "source": "man-plover"},
    "reasons": [
        {
            "rule": "belt.top_width",
            "outcome": "fits",
            "value": -0.4,
            "limit": 2.0,
            "unit": "mm",
            "text": "Top width: 0.4 mm narrower; it can seat up to 2 mm off.",
            "source": "man-plover",
        }
    ],
    "consequences": [
        {
            "quantity": "top_speed",
            "change_percent": -4.38,
            "text": "Top speed 4.4 % lower at the same engine speed.",
        }
    ],
    "evidence": [],
    "measure_next": [],
    "conflict": False,
    "alternatives": [],
    "worth_a_look": [],
    "cautions": [],
    "hazards": [],
}


class ReasonAnswer(Answer):
    """One finding with the value, the limit that was used, and the source of the need."""

    rule: str
    outcome: str
    value: float | int | str | None
    limit: float | int | str | None
    unit: str | None
    text: str
    source: str | None


class ConsequenceAnswer(Answer):
    """What changes on the machine."""

    quantity: str
    change_percent: float | None
    text: str


class EvidenceAnswer(Answer):
    """One piece of evidence: a fit record, sizes compared, or both belts run through the pulleys."""

    kind: str
    outcome: str
    source: str | None
    text: str


class MeasureAnswer(Answer):
    """What to measure next, and how."""

    quantity: str
    text: str


class AlternativeAnswer(Answer):
    """Another part that would do."""

    maker: str
    part_number: str
    outcome: str
    on_hand: int
    why: str


class VerdictAnswer(Answer):
    """The answer to a fit question.

    ``worth_a_look`` lists parts like those recorded as fitting, where only records decide: not known to fit.
    """

    outcome: str
    certainty: str
    engine: str
    position: str | None
    asked: dict[str, Any]
    need: dict[str, Any] | None
    reasons: list[ReasonAnswer]
    consequences: list[ConsequenceAnswer]
    evidence: list[EvidenceAnswer]
    measure_next: list[MeasureAnswer]
    conflict: bool
    alternatives: list[AlternativeAnswer]
    worth_a_look: list[dict[str, Any]]
    cautions: list[str]
    hazards: list[CautionAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [FIT_EXAMPLE]})


class AlternativesAnswer(Answer):
    """What else would do at a position, best first; never a part that does not fit.

    ``worth_a_look`` lists parts like those recorded as fitting, where only records decide: not known to fit.
    """

    engine: str
    position: str
    alternatives: list[AlternativeAnswer]
    worth_a_look: list[dict[str, Any]]
    hazards: list[CautionAnswer]


def shape_fit(verdict: Verdict, worth_a_look: Iterable[WorthALook]) -> dict[str, Any]:
    """A verdict as JSON, with parts worth a look and the cautions for work at its position as data."""
    cautions = rank_cautions(cautions_for_position(verdict.position)) if verdict.position else ()
    return {
        **shape_verdict(verdict),
        "worth_a_look": [item.as_json() for item in worth_a_look],
        "hazards": [shape_caution(caution) for caution in cautions],
    }
