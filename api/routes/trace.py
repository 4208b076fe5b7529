"""From what the rider says to the parts to look at first."""

from typing import Any

from fastapi import APIRouter

from api.answers.problem import READ_PROBLEMS
from api.answers.trace import TraceAnswer, shape_trace
from api.dependencies import AskedText, OptionalText, Reader
from kb.lookups.trace import trace_symptom

router = APIRouter(prefix="/api", tags=["bench"], responses=READ_PROBLEMS)


@router.get("/trace", response_model=TraceAnswer)
def get_trace(session: Reader, text: AskedText, engine: OptionalText = None) -> dict[str, Any]:
    """Likely causes in the order in which to look; with an engine also limits, parts, stock and tools."""
    return shape_trace(trace_symptom(session, text, engine_code=engine or None))
