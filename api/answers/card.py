"""The bench card as JSON. In every row the cautions stand before the figures they belong to."""

from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer, CautionAnswer, shape_caution, shape_source
from kb.rules.card.steps import format_torque
from kb.rules.card.values import (
    Card,
    CardFastener,
    CardFigure,
    CardLimit,
    CardPart,
    CardStep,
    CardTool,
)
from kb.rules.gauge_plausibility import infer_sense
from kb.rules.tools.cautions import GENERAL_CAUTION, VERIFIED_SOURCES, cautions_for_job
from kb.units import convert_nm_to_kgf_m, convert_nm_to_lbf_ft

CARD_EXAMPLE: dict[str, Any] = {
    "engine": "plover-50-s",
    "job": "belt_service",
    "title": "Change the drive belt",
    "fasteners": [],
    "tools": [
        {
            "tool": "socket 17 mm",
            "size_mm": 17.0,
            "owned": True,
            "stand_in": None,
            "for": ["crank_nut"],
            "text": "socket 17 mm fits 17 mm.",
        }
    ],
    "parts": [
        {
            "position": "drive_belt",
            "maker": "Sedgeholm",
            "part_number": "13-316-DB1",
            "outcome": "fits",
            "on_hand": 2,
            "needed": 1,
        }
    ],
    "limits": [],
    "steps": [],
    "missing": [],
    "cautions": [GENERAL_CAUTION],
    "hazards": [],
}


class CardFastenerAnswer(Answer):
    """A nut or screw of the job as one source states it; its cautions stand before its torque."""

    position: str
    cautions: list[CautionAnswer]
    thread: str | None
    hand: str
    drive: str | None
    across_flats_mm: float | None
    count: int | None
    torque_min_nm: float | None
    torque_nm: float | None
    torque_max_nm: float | None
    torque_lbf_ft: float | None
    single_use: bool | None
    locking: str | None
    source: str | None


class CardToolAnswer(Answer):
    """A tool that the job needs."""

    tool: str
    size_mm: float | None
    owned: bool
    stand_in: str | None
    text: str


class CardPartAnswer(Answer):
    """A part to have ready; maker and number are null when none is known to do."""

    position: str
    maker: str | None
    part_number: str | None
    outcome: str
    on_hand: int
    needed: int


class CardStepAnswer(Answer):
    """A step; cautions first, then the figures they belong to."""

    step: int
    text: str
    position: str | None
    cautions: list[CautionAnswer]


class CardAnswer(Answer):
    """The bench card of one engine and one job."""

    engine: str
    job: str
    missing: list[str]
    cautions: list[str]
    hazards: list[CautionAnswer]
    fasteners: list[CardFastenerAnswer]
    tools: list[CardToolAnswer]
    parts: list[CardPartAnswer]
    limits: list[dict[str, Any]]
    steps: list[CardStepAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [CARD_EXAMPLE]})


def shape_card(card: Card) -> dict[str, Any]:
    """The card as JSON."""
    hazards = cautions_for_job()
    return {
        "engine": card.engine,
        "engine_name": card.engine_name,
        "job": card.job,
        "title": card.title,
        "note": card.note,
        "missing": list(card.missing),
        "disagreements": list(card.disagreements),
        "warnings": list(card.warnings),
        "cautions": [GENERAL_CAUTION, *(caution.as_text() for caution in hazards)],
        "hazards": [shape_caution(caution) for caution in hazards],
        "fasteners": [_shape_fastener(item) for item in card.fasteners],
        "tools": [shape_card_tool(item) for item in card.tools],
        "parts": [shape_card_part(item) for item in card.parts],
        "single_use": [str(item.stated.position) for item in card.fasteners if item.stated.single_use],
        "consumables": [
            {
                "consumable": item.consumable,
                "steps": list(item.steps),
                "articles": [
                    {
                        "maker": article.part.maker,
                        "part_number": article.part.part_number,
                        "description": article.part.description,
                        "on_hand": article.on_hand,
                        "places": _shape_places(article.places),
                    }
                    for article in item.articles
                ],
            }
            for item in card.consumables
        ],
        "limits": [shape_card_limit(item) for item in card.limits],
        "steps": [_shape_step(item) for item in card.steps],
    }


def _shape_fastener(item: CardFastener) -> dict[str, Any]:
    row, torque = item.stated, item.stated.torque
    return {
        "position": str(row.position),
        "cautions": [shape_caution(caution) for caution in item.cautions],
        "thread": row.thread,
        "hand": str(item.hand),
        "hand_stated": row.hand is not None,
        "drive": str(row.drive) if row.drive else None,
        "across_flats_mm": row.across_flats_mm,
        "count": row.count,
        "torque_min_nm": torque.min_nm,
        "torque_nm": torque.nominal_nm,
        "torque_max_nm": torque.max_nm,
        **_convert_torques(item),
        "setting_nm": torque.setting_nm,
        "setting_computed": torque.is_setting_computed,
        "torque_text": format_torque(torque),
        "condition": str(item.condition),
        "verified": torque.is_known and row.source.kind in VERIFIED_SOURCES,
        "generic_limit": (
            {
                "highest_nm": item.generic_limit.highest_nm,
                "label": item.generic_limit.label,
                "text": item.generic_limit.text,
            }
            if item.generic_limit
            else None
        ),
        "sanity": (
            {
                "state": str(item.sanity.state),
                "lowest_nm": item.sanity.lowest_nm,
                "highest_nm": item.sanity.highest_nm,
                "label": item.sanity.label,
                "text": item.sanity.text,
                "hints": list(item.sanity.hints),
            }
            if item.sanity
            else None
        ),
        "single_use": row.single_use,
        "locking": row.locking,
        "holding": row.holding,
        "limiting_bars": [
            {
                "tool": bar.tool,
                "allowed": bar.answer.is_allowed,
                "reasons": list(bar.answer.reasons),
                "conditions": list(bar.answer.conditions),
            }
            for bar in item.bars
        ],
        "differs": list(item.differs),
        "source": row.source.name,
        "source_detail": shape_source(row.source),
        "agreeing_sources": [source.name for source in item.agreeing],
    }


def _convert_torques(item: CardFastener) -> dict[str, float | None]:
    torque = item.stated.torque
    values = {"torque_min": torque.min_nm, "torque": torque.nominal_nm, "torque_max": torque.max_nm}
    feet = {
        f"{name}_lbf_ft": None if value is None else round(convert_nm_to_lbf_ft(value), 2)
        for name, value in values.items()
    }
    kilos = {
        f"{name}_kgf_m": None if value is None else round(convert_nm_to_kgf_m(value), 2)
        for name, value in values.items()
    }
    return {**feet, **kilos}


def shape_card_tool(item: CardTool) -> dict[str, Any]:
    """A tool of a job as JSON."""
    return {
        "tool": item.tool,
        "kind": str(item.kind),
        "size_mm": item.size_mm,
        "owned": item.owned,
        "stand_in": item.stand_in,
        "for": [str(position) for position in item.positions],
        "steps": list(item.steps),
        "measure": item.measure,
        "settings": [
            {
                "position": str(setting.position),
                "setting_nm": setting.setting_nm,
                "computed": setting.is_computed,
                "deviation_nm": None if setting.deviation_nm is None else round(setting.deviation_nm, 2),
                "source": setting.source,
                "warnings": list(setting.warnings),
            }
            for setting in item.settings
        ],
        "text": item.text,
    }


def shape_card_part(item: CardPart) -> dict[str, Any]:
    """A part to have ready as JSON."""
    return {
        "position": str(item.position),
        "maker": item.part.maker if item.part else None,
        "part_number": item.part.part_number if item.part else None,
        "description": item.part.description if item.part else None,
        "outcome": str(item.outcome),
        "on_hand": item.on_hand,
        "needed": item.needed,
        "places": _shape_places(item.places),
        "why": item.why or None,
        "others": [shape_card_part(other) for other in item.others],
    }


def _shape_places(places: tuple[tuple[str, int], ...]) -> list[dict[str, Any]]:
    return [{"location": place, "on_hand": count} for place, count in places]


def shape_card_limit(item: CardLimit) -> dict[str, Any]:
    """A limit to gauge as JSON; a sense that is not stated follows from the two sizes."""
    limit = item.limit
    sense = limit.sense or infer_sense(limit)
    return {
        "position": str(item.position),
        "quantity": item.quantity,
        "nominal": limit.nominal,
        "limit": limit.limit,
        "sense": str(sense) if sense else None,
        "unit": limit.unit,
        "source": limit.source.name if limit.source else None,
        "source_text": limit.source.as_text() if limit.source else None,
    }


def _shape_step(item: CardStep) -> dict[str, Any]:
    step = item.job_step
    return {
        "step": step.step,
        "text": step.text,
        "position": str(step.position) if step.position else None,
        "cautions": [shape_caution(caution) for caution in item.cautions],
        "caution": step.caution,
        "figures": [_shape_figure(figure) for figure in item.figures],
        "needs_part": step.needs_part,
        "fastener": step.fastener,
        "tool": step.tool,
        "consumable": step.consumable,
    }


def _shape_figure(item: CardFigure) -> dict[str, Any]:
    return {
        "position": str(item.position),
        "text": item.text,
        "source": item.source.name,
        "source_text": item.source.as_text(),
        "verified": item.is_verified,
        "differs": item.differs,
    }
