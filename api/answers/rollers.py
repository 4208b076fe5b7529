"""A set of weighed rollers as JSON."""

from typing import Any

from api.answers.shape import Answer, CautionAnswer, shape_caution
from kb.rules.roller_set import RollerSetAnswer
from kb.rules.tools.cautions import cautions_for_position, rank_cautions
from kb.terms import Position


class RollersAnswer(Answer):
    """Mean mass, shift speed, best order round the circle, what imbalance is left, may it go in."""

    engine: str
    state: str
    mean_mass_g: float
    need_mass_g: float | None
    shift_speed_change_percent: float | None
    order: list[int]
    order_masses_g: list[float]
    imbalance_g_mm: float | None
    text: str
    reasons: list[str]
    hazards: list[CautionAnswer]


def shape_rollers(engine: str, answer: RollerSetAnswer, source_text: str | None) -> dict[str, Any]:
    """The answer as JSON; ``order`` says which roller of the list goes into slot 1, 2, ..."""
    hazards = rank_cautions(cautions_for_position(Position.ROLLERS))
    return {
        "engine": engine,
        "position": str(Position.ROLLERS),
        "state": str(answer.state),
        "text": answer.text,
        "reasons": list(answer.reasons),
        "masses_g": list(answer.masses_g),
        "mean_mass_g": round(answer.mean_mass_g, 3),
        "need_mass_g": answer.need_mass_g,
        "need_count": answer.need_count,
        "need_source": source_text,
        "shift_speed_change_percent": _round(answer.shift_speed_change_percent),
        "order": list(answer.order),
        "order_masses_g": list(answer.order_masses_g),
        "radius_mm": answer.radius_mm,
        "radius_basis": str(answer.radius_basis),
        "imbalance_g_mm": _round(answer.imbalance_g_mm),
        "as_listed_g_mm": _round(answer.as_listed_g_mm),
        "force_n": _round(answer.force_n),
        "force_rpm": answer.force_rpm,
        "limits_g_mm": [answer.limits.fine_g_mm, answer.limits.note_g_mm],
        "hazards": [shape_caution(caution) for caution in hazards],
    }


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
