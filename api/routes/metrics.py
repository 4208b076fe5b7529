"""Figures for whoever watches over the service, as Prometheus reads them."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.dependencies import Reader
from api.figures import MEDIA_TYPE, list_gauge_lines
from kb.lookups.figures import count_database

router = APIRouter(include_in_schema=False)


@router.get("/metrics")
def get_metrics(request: Request, session: Reader) -> Response:
    """Requests answered since the start, how long they took, and how much the database holds."""
    held = count_database(session)
    lines = [
        *request.app.state.figures.list_lines(),
        *list_gauge_lines("counterhand_database_bytes", "Size of the database.", held.size_bytes),
        *list_gauge_lines("counterhand_parts", "Parts in the catalogue.", held.parts),
        *list_gauge_lines("counterhand_stocked_parts", "Parts with pieces on a shelf.", held.stocked_parts),
        *list_gauge_lines("counterhand_engines", "Engines in the catalogue.", held.engines),
    ]
    return Response("\n".join(lines) + "\n", headers={"Content-Type": MEDIA_TYPE})
