"""One part: sizes by source, where it fits, what replaces it, stock and offers."""

from typing import Any

from fastapi import APIRouter

from api.answers.parts import PartAnswer, shape_part_sheet
from api.answers.problem import READ_PROBLEMS
from api.dependencies import MakerInPath, PartNumberInPath, Reader
from kb.lookups.part_sheet import describe_part

router = APIRouter(prefix="/api/parts", tags=["parts"], responses=READ_PROBLEMS)


@router.get("/{maker}/{part_number:path}", response_model=PartAnswer)
def get_part_sheet(session: Reader, maker: MakerInPath, part_number: PartNumberInPath) -> dict[str, Any]:
    """Everything recorded of one part; a part number may hold slashes."""
    return shape_part_sheet(describe_part(session, maker, part_number))
