"""Shelf labels to print: number and place in words, as QR code and as Code 128."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

import barcode
import segno
from barcode.base import Barcode
from fastapi import APIRouter, Query
from starlette.responses import Response

from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, Reader
from api.drawings.picture import Point, draw_line
from api.pages.templates import render
from kb.errors import NotFound
from kb.lookups.locations import list_locations
from kb.lookups.stock import find_asked_parts, list_stock, search_shelf

router = APIRouter(prefix="/labels", include_in_schema=False)

LABELS_PER_SHEET = 60
QUIET_MODULES = 10  # ISO/IEC 15417, from memory: ten modules of white on either side


@dataclass(frozen=True, slots=True)
class ShelfLabel:
    """A label: words, the two codes as paths, and their sizes in modules."""

    maker: str
    part_number: str
    part_type: str
    places: str
    qr_path: str
    qr_modules: int
    bars_path: str
    bars_modules: int


def build_label(maker: str, part_number: str, *, part_type: str, places: str) -> ShelfLabel:
    """The label of a part; the QR code holds the address of the part's page, the bars hold the number."""
    qr_path, qr_modules = draw_qr(f"/parts/{quote(maker, safe='')}/{quote(part_number)}")
    bars_path, bars_modules = draw_code128(part_number)
    return ShelfLabel(maker, part_number, part_type, places, qr_path, qr_modules, bars_path, bars_modules)


def draw_qr(text: str) -> tuple[str, int]:
    """Path of a QR code with its quiet zone, one module a unit, and the modules along a side."""
    code = segno.make(text, error="m", micro=False)
    rows = [list(row) for row in code.matrix_iter(border=4)]
    return "".join(_draw_runs(row, top, 1) for top, row in enumerate(rows)), len(rows)


def draw_code128(text: str) -> tuple[str, int]:
    """Path of Code 128 bars with quiet zones, one module wide a unit and 20 high, and the modules across."""
    code: Barcode = barcode.get("code128", text)
    modules = [int(module) for module in code.build()[0]]
    row = [0] * QUIET_MODULES + modules + [0] * QUIET_MODULES
    return _draw_runs(row, 0, 20), len(row)


def _draw_runs(row: list[int], top: int, height: int) -> str:
    """Rectangles for the runs of dark modules of a row."""
    paths, start = [], None
    for place, module in enumerate([*row, 0]):
        if module and start is None:
            start = place
        elif not module and start is not None:
            corners = [(start, top), (place, top), (place, top + height), (start, top + height)]
            paths.append(draw_line([Point(x, y) for x, y in corners], is_closed=True))
            start = None
    return "".join(paths)


@router.get("")
def show_labels(
    session: Reader,
    part: Annotated[
        list[Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)]], Query(max_length=60)
    ] = [],  # noqa: B006
    location: OptionalText = None,
    q: OptionalText = None,
) -> Response:
    """Labels of the parts named, or of what is found on a shelf."""
    named: list[tuple[int, str, str, str]] = []
    problem = ""
    for text in part:
        try:
            found = find_asked_parts(session, text)
        except NotFound as error:
            problem = str(error)
            continue
        named += [(item.id, item.ref.maker, item.ref.part_number, str(item.ref.part_type)) for item in found]
    if not part and (q or location):
        rows = search_shelf(session, q or "", location=location or None, limit=LABELS_PER_SHEET + 1)
        named += [(r.part_id, r.name.maker, r.name.part_number, r.name.part_type) for r in rows]
    is_cut = len(named) > LABELS_PER_SHEET
    labels = [
        build_label(
            maker,
            number,
            part_type=part_type,
            places=", ".join(place.location for place in list_stock(session, part_id)),
        )
        for part_id, maker, number, part_type in named[:LABELS_PER_SHEET]
    ]
    return render(
        "labels.html",
        labels=labels,
        is_cut=is_cut,
        q=q or "",
        location=location or "",
        locations=list_locations(session),
        problem=problem,
    )
