"""Decisions against the figures on pages: levels by hand, demand left out; each with who and why."""

import secrets
from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import RedirectResponse, Response

from api.decisions import ExclusionPost, LevelPost, decide_level, exclude_demand
from api.dependencies import MAX_TEXT, NO_NUL, Reader, Writer
from api.once import FormOnce, Once
from api.pages.part_stock import PartPage, address_part, render_part
from api.pages.templates import render
from api.problems import describe_error
from kb.edits.judgement import remove_excluded_demand
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.judgement import list_levels_by_hand
from kb.lookups.parts import get_part

router = APIRouter(prefix="/stock", include_in_schema=False)

Name = Annotated[str, Field(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)]
Text = Annotated[str, Field(max_length=MAX_TEXT, pattern=NO_NUL)]
Why = Annotated[str, Field(min_length=1, max_length=500, pattern=NO_NUL)]


class DecisionForm(BaseModel):
    """The part, and the shelf that its page shows; ``back`` = the list of levels is shown afterwards."""

    key: str = Field(min_length=1, max_length=255)
    maker: Name
    part_number: Name
    shelf: Text = ""
    back: Text = ""
    made_by: Text = ""


class LevelForm(DecisionForm):
    """A level by hand; without a location for the shop as one, without a level computed again."""

    location: Text = ""
    level: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    why: Why


class LeaveOutForm(DecisionForm):
    """Pieces of a day that do not count as demand."""

    location: Name
    day: date
    quantity: int = Field(ge=1, le=1_000_000)
    why: Why


class CountAgainForm(DecisionForm):
    """A decision to take back."""

    exclusion: int = Field(ge=1, le=2**53)


@router.get("/levels")
def show_levels(session: Reader) -> Response:
    """Every level that a person set, with who and why; each can be taken back."""
    return render("levels.html", levels=list_levels_by_hand(session), key=secrets.token_urlsafe(16))


@router.post("/levels")
def post_level(once: FormOnce, request: Request, form: Annotated[LevelForm, Form()]) -> Response:
    """Set a level by hand, or let it be computed again."""
    post = LevelPost(
        maker=form.maker,
        part_number=form.part_number,
        location=form.location or None,
        level=form.level,
        why=form.why,
        made_by=form.made_by.strip() or None,
    )
    return _decide(once, request, form, work=partial(once.do, form.key, post, decide_level))


@router.post("/left-out")
def post_left_out(once: FormOnce, request: Request, form: Annotated[LeaveOutForm, Form()]) -> Response:
    """Leave pieces of a day out of the forecast."""
    post = ExclusionPost(
        maker=form.maker,
        part_number=form.part_number,
        location=form.location,
        day=form.day,
        quantity=form.quantity,
        why=form.why,
        made_by=form.made_by.strip() or None,
    )
    work = partial(once.do, form.key, post, exclude_demand)
    return _decide(once, request, form, work=work, anchor="#demand")


@router.post("/counts-again")
def post_counts_again(request: Request, session: Writer, form: Annotated[CountAgainForm, Form()]) -> Response:
    """Let pieces that were left out count again."""
    part = get_part(session, form.maker, form.part_number)
    try:
        remove_excluded_demand(session, form.exclusion)
    except NotFound as error:
        return render_part(request, session, PartPage(part, form.shelf, describe_error(error)))
    place = address_part(form.maker, form.part_number, shelf=form.shelf, anchor="#demand")
    return RedirectResponse(place, status_code=303)


def _decide(
    once: Once, request: Request, form: DecisionForm, *, work: Callable[[], object], anchor: str = ""
) -> Response:
    """Decide, and show the page again; what is refused is said on the part's page."""
    part = get_part(once.session, form.maker, form.part_number)
    try:
        work()
    except (BadInput, Conflict, NotFound) as error:
        return render_part(request, once.session, PartPage(part, form.shelf, describe_error(error)))
    if form.back == "levels":
        return RedirectResponse("/stock/levels", status_code=303)
    place = address_part(form.maker, form.part_number, shelf=form.shelf, anchor=anchor)
    return RedirectResponse(place, status_code=303)
