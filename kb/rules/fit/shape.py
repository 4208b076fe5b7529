"""The verdict in the shape that JSON answers have."""

from dataclasses import fields
from typing import Any

from kb.rules.fit.values import Alternative, Asked, Evidence, Need, PartRef, Verdict
from kb.terms import (
    FASTENER_POSITIONS,
    SIZE_POSITIONS,
    PartType,
    Position,
)

_SIZE_FIELDS = {
    "belt": ("length_mm", "length_kind", "top_width_mm", "angle_deg", "thickness_mm"),
    "rollers": ("diameter_mm", "width_mm", "mass_g", "count"),
    "clutch_springs": ("count", "rated_rpm"),
    "contra_spring": ("free_length_mm", "wire_mm", "coil_mm", "active_coils"),
    "fastener": ("thread", "across_flats_mm"),
    "envelope": ("bore_mm", "outside_mm", "width_mm", "clearance", "form"),
}
_GROUP_OF_POSITION: dict[Position, str] = {
    Position.DRIVE_BELT: "belt",
    Position.ROLLERS: "rollers",
    Position.CLUTCH_SPRINGS: "clutch_springs",
    Position.CONTRA_SPRING: "contra_spring",
    **dict.fromkeys(FASTENER_POSITIONS, "fastener"),
    **dict.fromkeys(SIZE_POSITIONS, "envelope"),
}


def list_size_fields(position: Position | None) -> tuple[str, ...]:
    """Names of the numbers that decide at a position; none where only records decide."""
    return _SIZE_FIELDS.get(_GROUP_OF_POSITION.get(position, ""), ()) if position else ()


def shape_verdict(verdict: Verdict) -> dict[str, Any]:
    """A verdict as the JSON answer shows it."""
    return {
        "outcome": str(verdict.outcome),
        "certainty": str(verdict.certainty),
        "engine": verdict.engine,
        "position": str(verdict.position) if verdict.position else None,
        "asked": shape_asked(verdict.asked, verdict.position),
        "need": shape_need(verdict.need),
        "reasons": [
            {
                "rule": str(reason.rule),
                "outcome": str(reason.outcome),
                "value": reason.value,
                "limit": reason.limit,
                "unit": reason.unit,
                "text": reason.text,
                "source": reason.source,
            }
            for reason in verdict.reasons
        ],
        "consequences": [
            {"quantity": item.quantity, "change_percent": item.change_percent, "text": item.text}
            for item in verdict.consequences
        ],
        "evidence": [_shape_evidence(item) for item in verdict.evidence],
        "measure_next": [{"quantity": item.quantity, "text": item.text} for item in verdict.measure_next],
        "conflict": verdict.conflict,
        "alternatives": [shape_alternative(item) for item in verdict.alternatives],
        "cautions": list(dict.fromkeys(verdict.cautions)),
        **verdict.extra,
    }


def shape_asked(asked: Asked, position: Position | None) -> dict[str, Any]:
    """What was asked about, with the numbers that matter at the position."""
    names = list_size_fields(position)
    size = {name: getattr(asked.size, name) for name in names} or {
        item.name: value
        for item in fields(asked.size)
        if (value := getattr(asked.size, item.name)) is not None
    }
    nameless = {"maker": None, "part_number": asked.part_number}
    return {
        "kind": "part" if asked.part or asked.part_number else "size",
        **(shape_part(asked.part) if asked.part else nameless),
        "text": asked.text,
        "size": size,
    }


def shape_part(part: PartRef) -> dict[str, Any]:
    """A part as answers name it."""
    part_type: PartType | None = part.part_type
    return {
        "maker": part.maker,
        "part_number": part.part_number,
        "part_type": str(part_type) if part_type else None,
        "description": part.description,
        "status": str(part.status) if part.status else None,
    }


def shape_need(need: Need | None) -> dict[str, Any] | None:
    """What the engine needs, with its source."""
    if need is None:
        return None
    numbers = {item.name: getattr(need, item.name) for item in fields(need) if item.name != "source"}
    return {**numbers, "source": need.source.name}


def _shape_evidence(item: Evidence) -> dict[str, Any]:
    return {
        "kind": str(item.kind),
        "outcome": str(item.outcome),
        "source": item.source.name if item.source else None,
        "source_kind": str(item.source.kind) if item.source else None,
        "text": item.text,
    }


def shape_alternative(item: Alternative) -> dict[str, Any]:
    """An alternative as answers list it."""
    return {
        **shape_part(item.part),
        "outcome": str(item.outcome),
        "certainty": str(item.certainty),
        "on_hand": item.on_hand,
        "places": [{"location": place, "on_hand": count} for place, count in item.places],
        "price_minor": item.price_minor,
        "currency": item.currency,
        "change_percent": item.change_percent,
        "why": item.why,
    }
