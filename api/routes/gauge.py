"""May this worn part go back, and may these odd rollers go in?"""

from typing import Annotated, Any

from fastapi import APIRouter, Query

from api.answers.gauge import GaugeVerdictAnswer, shape_gauge
from api.answers.problem import READ_PROBLEMS
from api.answers.rollers import RollersAnswer, shape_rollers
from api.dependencies import AskedText, PathText, Reader
from api.whole_names import WholeNameRoute
from kb.lookups.gauge import GaugeQuestion, gauge_part
from kb.lookups.roller_set import judge_rollers

router = APIRouter(prefix="/api/engines", tags=["bench"], responses=READ_PROBLEMS, route_class=WholeNameRoute)

Mass = Annotated[float, Query(gt=0, le=1000)]


@router.get("/{engine:path}/gauge", response_model=GaugeVerdictAnswer)
def get_gauge(
    session: Reader, engine: PathText, position: AskedText, quantity: AskedText, value: AskedText
) -> dict[str, Any]:
    """A measured value against its limit; a unit may stand behind the number."""
    return shape_gauge(gauge_part(session, GaugeQuestion(engine, position, quantity, value)))


@router.get("/{engine:path}/rollers", response_model=RollersAnswer)
def get_rollers(
    session: Reader,
    engine: PathText,
    mass: Annotated[list[Mass], Query(min_length=3, max_length=9, description="Mass in grams, repeated.")],
    radius_mm: Annotated[float | None, Query(gt=0, le=1000)] = None,
) -> dict[str, Any]:
    """Mean mass, shift speed, best order and imbalance of weighed rollers."""
    return shape_rollers(*judge_rollers(session, engine, mass, radius_mm=radius_mm))
