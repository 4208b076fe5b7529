"""Engines as JSON: a list, and everything recorded of one."""

from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer, CautionAnswer, SourceAnswer, shape_caution, shape_sources
from kb.lookups.engine_sheet import EngineSheet, FastenerStatement, Statement
from kb.lookups.engines import EngineRef
from kb.rules.fit.shape import shape_need
from kb.rules.tools.cautions import GENERAL_CAUTION

ENGINE_EXAMPLE: dict[str, Any] = {
    "engine": "plover-50-s",
    "family": "plover",
    "name": "Plover 50 short case",
    "designation": "1E38QMA",
    "strokes": 2,
    "cooling": "fan",
    "bore_mm": 38.0,
    "stroke_mm": 43.4,
    "note": "10 inch wheel, short case; same stamp as the long case",
}
FASTENER_EXAMPLE: dict[str, Any] = {
    "position": "crank_nut",
    "thread": "M10x1.25",
    "hand": "right",
    "drive": "hex",
    "across_flats_mm": 17.0,
    "count": 1,
    "torque_min_nm": 35.0,
    "torque_nm": 38.0,
    "torque_max_nm": 41.0,
    "torque_min_lbf_ft": 25.81,
    "torque_lbf_ft": 28.03,
    "torque_max_lbf_ft": 30.24,
    "locking": None,
    "single_use": False,
    "holding": "pin spanner in the two holes of the fixed face, never in the fan blades",
    "source": "man-plover",
}


class EngineAnswer(Answer):
    """One engine variant: the thing that decides which parts fit."""

    engine: str
    family: str | None
    name: str | None
    designation: str | None
    strokes: int | None
    cooling: str | None
    bore_mm: float | None
    stroke_mm: float | None
    note: str | None

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [ENGINE_EXAMPLE]})


class EngineListAnswer(Answer):
    """Engines in order of their code; ``after`` is the mark for the next page, null on the last."""

    engines: list[EngineAnswer]
    after: str | None


class NeedAnswer(Answer):
    """What the engine asks for at a position, as one source states it."""

    position: str
    size: dict[str, Any]
    source: str | None


class FastenerAnswer(Answer):
    """A nut or screw as one source states it; cautions stand beside its torque."""

    position: str
    thread: str | None
    hand: str
    torque_min_nm: float | None
    torque_nm: float | None
    torque_max_nm: float | None
    torque_lbf_ft: float | None
    source: str | None
    cautions: list[CautionAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [FASTENER_EXAMPLE]})


class EngineSheetAnswer(EngineAnswer):
    """Everything recorded of one engine; each row names its source, ``sources`` says what that is."""

    source: str | None
    vehicles: list[dict[str, Any]]
    features: list[dict[str, Any]]
    needs: list[NeedAnswer]
    wear_limits: list[dict[str, Any]]
    fasteners: list[FastenerAnswer]
    drives: list[dict[str, Any]]
    sources: list[SourceAnswer]
    cautions: list[str]

    # The example of one engine is not one of its sheet, so it is not taken over.
    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": []})


def shape_engine(engine: EngineRef) -> dict[str, Any]:
    """An engine as lists show it."""
    return {name: getattr(engine, name) for name in ENGINE_EXAMPLE}


def shape_engine_sheet(sheet: EngineSheet) -> dict[str, Any]:
    """Everything recorded of one engine."""
    statements = (*sheet.vehicles, *sheet.features, *sheet.wear_limits, *sheet.drives)
    needs = [(position, need) for position, found in sheet.needs.items() for need in found]
    sources = [sheet.source, *(item.source for item in statements), *(need.source for _, need in needs)]
    return {
        **shape_engine(sheet.engine),
        "source": sheet.source.name,
        "vehicles": [_shape_statement(item) for item in sheet.vehicles],
        "features": [_shape_statement(item) for item in sheet.features],
        "needs": [_shape_engine_need(str(position), shape_need(need) or {}) for position, need in needs],
        "wear_limits": [_shape_statement(item) for item in sheet.wear_limits],
        "fasteners": [_shape_fastener(item) for item in sheet.fasteners],
        "drives": [_shape_statement(item) for item in sheet.drives],
        "sources": shape_sources([*sources, *(item.source for item in sheet.fasteners)]),
        "cautions": [GENERAL_CAUTION],
    }


def _shape_statement(item: Statement | FastenerStatement) -> dict[str, Any]:
    return {**item.values, "source": item.source.name}


def _shape_engine_need(position: str, need: dict[str, Any]) -> dict[str, Any]:
    size = {name: value for name, value in need.items() if name != "source"}
    return {"position": position, "size": size, "source": need["source"]}


def _shape_fastener(item: FastenerStatement) -> dict[str, Any]:
    return {**_shape_statement(item), "cautions": [shape_caution(caution) for caution in item.cautions]}
