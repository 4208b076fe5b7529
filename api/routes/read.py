"""What a stamped or printed code says, and all the codes that a pasted note holds."""

from typing import Annotated, Any

from fastapi import APIRouter, Query

from api.answers.find import ReadAnswer
from api.answers.problem import READ_PROBLEMS
from kb.errors import BadInput
from kb.notation.read import KINDS
from kb.rules.match.note import read_text

router = APIRouter(prefix="/api", tags=["find"], responses=READ_PROBLEMS)


@router.get("/read", response_model=ReadAnswer, response_model_exclude_unset=True)
def get_read(
    text: Annotated[str, Query(description="A code, or a note that holds several.")],
    kind: Annotated[str, Query(alias="as", description="What it is, when known.")] = "auto",
) -> dict[str, Any]:
    """The reading of a code; a text that cannot be read answers ``ok`` false with the reason."""
    if kind not in KINDS:
        raise BadInput(f"Kind '{kind[:40]}' is not known; write one of {', '.join(KINDS)}.", field="as")
    return read_text(text, kind)
