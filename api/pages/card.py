"""The bench card as a page and as a print sheet: cautions stand before the figures, each in full once.

A caution that stood in full on the sheet is named again by signal and hazard where it applies once more, with
where it stands in full, so that a long job still fits on paper.
"""

import secrets
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from api.answers.card import shape_card
from api.dependencies import Reader
from api.pages.bench import PageText, ask, mark_once, render_bench
from kb.lookups.card import build_card
from kb.lookups.locations import find_main_location, list_locations

router = APIRouter(include_in_schema=False)


@router.get("/card")
def show_card(session: Reader, engine: PageText = "", job: PageText = "") -> Response:
    """The card of an engine and a job."""
    engine, job = engine.strip(), job.strip()
    card, problem = None, None
    if engine and job:
        card, problem = ask(lambda: mark_first(shape_card(build_card(session, engine, job))))
    return render_bench(
        "card.html",
        session,
        problem=problem,
        card=card,
        engine=engine,
        job=job,
        locations=list_locations(session),
        main_location=find_main_location(session),
        posting_key=secrets.token_urlsafe(16),
    )


def mark_first(card: dict[str, Any]) -> dict[str, Any]:
    """The card with ``full`` on the first of each caution; ``seen`` says on the others where that stands."""
    mark_once(_list_places(card))
    return card


def _list_places(card: dict[str, Any]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Lists of cautions in the order of the sheet, each with the words that say where it stands."""
    return [
        ("at the top", card["hazards"]),
        *((f"at the {item['position'].replace('_', ' ')}", item["cautions"]) for item in card["fasteners"]),
        *((f"at step {step['step']}", step["cautions"]) for step in card["steps"]),
    ]
