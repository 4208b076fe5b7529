"""Everything recorded of one part as JSON."""

from dataclasses import asdict
from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer, SourceAnswer, shape_sources
from kb.lookups.part_sheet import FitStatement, OfferStatement, PartSheet, ReplacementStatement
from kb.lookups.parts import PartStatement
from kb.rules.fit.shape import shape_part

PART_EXAMPLE: dict[str, Any] = {
    "maker": "Brackenloop",
    "part_number": "LP-669-18-30",
    "part_type": "drive_belt",
    "description": "CVT belt 669x18x30 aramid cord",
    "status": "current",
    "gtin": "02301273122306",
    "size": {"length_mm": 669.0, "length_kind": "outside", "top_width_mm": 18.0, "angle_deg": 30.0},
    "on_hand": 15,
    "places": [{"location": "branch", "on_hand": 1}, {"location": "counter", "on_hand": 14}],
}


class PlaceAnswer(Answer):
    """Pieces at one place."""

    location: str
    on_hand: int


class PartAnswer(Answer):
    """One part: sizes by source, where it fits, what replaces it, stock and offers."""

    maker: str
    part_number: str
    part_type: str | None
    description: str | None
    status: str | None
    gtin: str | None
    size: dict[str, Any]
    statements: list[dict[str, Any]]
    fits: list[dict[str, Any]]
    replaced_by: list[dict[str, Any]]
    replaces: list[dict[str, Any]]
    on_hand: int
    places: list[PlaceAnswer]
    offers: list[dict[str, Any]]
    sources: list[SourceAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [PART_EXAMPLE]})


def shape_part_sheet(sheet: PartSheet) -> dict[str, Any]:
    """Everything recorded of one part."""
    stated = (*sheet.part.statements, *sheet.fits, *sheet.replaced_by, *sheet.replaces)
    return {
        **shape_part(sheet.part.ref),
        "gtin": sheet.part.gtin,
        "size": _drop_unknown(asdict(sheet.part.size)),
        "statements": [_shape_statement(item) for item in sheet.part.statements],
        "fits": [_shape_fit(item) for item in sheet.fits],
        "replaced_by": [_shape_replacement(item) for item in sheet.replaced_by],
        "replaces": [_shape_replacement(item) for item in sheet.replaces],
        "on_hand": sheet.on_hand,
        "places": [{"location": place, "on_hand": count} for place, count in sheet.places],
        "offers": [_shape_offer(item) for item in sheet.offers],
        "sources": shape_sources(item.source for item in stated),
    }


def _drop_unknown(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _shape_statement(item: PartStatement) -> dict[str, Any]:
    return {
        "source": item.source.name,
        "description": item.description,
        "gtin": item.gtin,
        "status": str(item.status) if item.status else None,
        "size": _drop_unknown(asdict(item.size)),
    }


def _shape_fit(item: FitStatement) -> dict[str, Any]:
    return {
        "engine": item.engine,
        "engine_name": item.engine_name,
        "position": str(item.position),
        "outcome": str(item.outcome),
        "note": item.note,
        "seen_on": item.seen_on.isoformat() if item.seen_on else None,
        "source": item.source.name,
    }


def _shape_replacement(item: ReplacementStatement) -> dict[str, Any]:
    return {**shape_part(item.part), "kind": str(item.kind), "source": item.source.name}


def _shape_offer(item: OfferStatement) -> dict[str, Any]:
    return {**asdict(item), "seen_on": item.seen_on.isoformat() if item.seen_on else None}
