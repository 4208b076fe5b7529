"""The sheet of one part."""

from dataclasses import asdict

from fastapi import APIRouter
from starlette.responses import Response

from api.dependencies import MakerInPath, PartNumberInPath, Reader
from api.pages.templates import render
from kb.lookups.part_sheet import describe_part

router = APIRouter(prefix="/parts", include_in_schema=False)


@router.get("/{maker}/{part_number:path}")
def show_part(session: Reader, maker: MakerInPath, part_number: PartNumberInPath) -> Response:
    """Sizes by source, where it fits, what replaces it, stock and offers."""
    sheet = describe_part(session, maker, part_number)
    sizes = [
        (statement, {name: value for name, value in asdict(statement.size).items() if value is not None})
        for statement in sheet.part.statements
    ]
    return render("part.html", sheet=sheet, sizes=sizes)
