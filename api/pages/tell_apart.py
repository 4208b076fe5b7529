"""Which engine is it: one question at a time, each answer a link, every step can be taken back.

All that was answered stands in the address, so the browser's own way back works too.
"""

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.tell_apart import shape_tell_apart
from api.dependencies import MAX_TEXT, NO_NUL, Reader
from api.pages.bench import PageText, ask, render_bench
from api.routes.tell_apart import MOST_ENGINES
from kb.errors import BadInput
from kb.lookups.tell_apart import TellApartQuestion, tell_engines_apart
from kb.rules.quantity import parse_quantity

router = APIRouter(include_in_schema=False)

FACTS = (
    "stamped_designation",
    "case_length",
    "wheel_diameter",
    "cover_screw_count",
    "cooling",
    "strokes",
    "kick_start",
    "boss_diameter",
    "shaft_length",
    "belt_length",
    "belt_top_width",
    "roller_diameter",
    "crank_nut_across_flats",
    "bell_nut_across_flats",
    "clutch_nut_across_flats",
    "bore",
    "stroke",
    "vehicle",
    "year",
)
_OWN = frozenset({"engine", "position", "skip", "name", "value"})
SHOWN = 40
_Texts = Annotated[
    list[Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)]], Query(max_length=MOST_ENGINES)
]


@router.get("/tell-apart")
def show_tell_apart(
    request: Request,
    session: Reader,
    engine: _Texts = [],  # noqa: B006 - FastAPI copies it
    skip: _Texts = [],  # noqa: B006 - FastAPI copies it
    position: PageText = "",
) -> Response:
    """The question to answer next, what was answered, which engines are left and which are out."""
    pairs = request.query_params.multi_items()
    name, value = request.query_params.get("name", ""), request.query_params.get("value", "").strip()
    if name and value:
        return RedirectResponse(f"/tell-apart?{_add_fact(pairs, name, value)}", status_code=303)
    engines = [text for text in engine if text.strip()]
    facts = [pair for pair in pairs if pair[0] not in _OWN and pair[1].strip()]
    kept = [pair for pair in pairs if pair[0] not in ("name", "value") and pair[1].strip()]
    question = TellApartQuestion(tuple(engines), tuple(facts), position or None, tuple(skip))
    answer, problem = ask(lambda: _answer(session, question, kept))
    return render_bench(
        "tell_apart.html",
        session,
        problem=problem,
        answer=answer,
        kept=kept,
        position=position,
        given=_list_given(kept),
        facts=FACTS,
        shown=SHOWN,
    )


def _add_fact(pairs: list[tuple[str, str]], name: str, value: str) -> str:
    """Query with one more fact; an answer to the same question is replaced."""
    kept = [pair for pair in pairs if pair[0] not in ("name", "value", name) and pair[1].strip()]
    return urlencode([*kept, (name, value)])


def _answer(session: Session, question: TellApartQuestion, kept: list[tuple[str, str]]) -> dict[str, Any]:
    if any("\x00" in text for pair in question.facts for text in pair):
        raise BadInput("A fact holds a NUL character; leave it out.", field="fact")
    answer = shape_tell_apart(tell_engines_apart(session, question))
    for item in answer["measure_next"]:
        item["branches"] = [
            {
                "value": value,
                "engines": engines,
                "address": f"/tell-apart?{urlencode([*kept, (item['quantity'], value)])}",
            }
            for value, engines in item["splits"].items()
        ]
        item["skip_address"] = f"/tell-apart?{urlencode([*kept, ('skip', item['quantity'])])}"
    return answer


def _list_given(kept: list[tuple[str, str]]) -> list[dict[str, str]]:
    """What was answered or skipped so far, each with the address without it."""
    given = []
    for place, (name, value) in enumerate(kept):
        if name == "position":
            continue
        others = [pair for index, pair in enumerate(kept) if index != place]
        label = value if name in ("engine", "skip") else f"{parse_name(name)}: {value}"
        prefix = {"engine": "engine ", "skip": "not measured: "}.get(name, "")
        given.append(
            {
                "label": f"{prefix}{label.replace('_', ' ') if name == 'skip' else label}",
                "address": f"/tell-apart?{urlencode(others)}",
            }
        )
    return given


def parse_name(name: str) -> str:
    """A quantity as a person reads it; a name without letters stays as it is.

    Example:
        >>> parse_name("case_length_mm")
        'case length'
    """
    try:
        return parse_quantity(name).replace("_", " ")
    except BadInput:
        return name
