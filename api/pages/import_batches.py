"""One import on its page: what it did, taking it back, remembering what its columns meant."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, PathText, Reader, Writer
from api.pages.imports import find_waiting
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.remembered import propose_name, remember_columns
from kb.edits.column_maps import remove_column_map
from kb.edits.undo import undo_batch
from kb.errors import BadInput, Conflict, KbError
from kb.lookups.column_maps import list_column_maps
from kb.lookups.imports import get_import

router = APIRouter(prefix="/imports", include_in_schema=False)


@router.get("/{batch}")
def show_batch(
    request: Request, session: Reader, batch: PathText, uploaded: Annotated[str, Query(alias="from")] = ""
) -> Response:
    """One import: what it did, what it left out, and taking it back."""
    return _render_batch(request, session, batch, uploaded=uploaded)


def _render_batch(  # noqa: PLR0913 - what the page shows
    request: Request,
    session: Session,
    batch: str,
    *,
    uploaded: str = "",
    remembered: str = "",
    problem: Problem | None = None,
) -> Response:
    waiting = None
    if uploaded:
        try:
            waiting = find_waiting(request, uploaded)
        except KbError:
            waiting = None
    imported = get_import(session, batch)
    known = [row.name for row in list_column_maps(session) if row.kind == imported["kind"]]
    taken = (waiting.remembered or {}).get("name") if waiting else None
    return render(
        "import_batch.html",
        status=problem.code if problem else 200,
        item=imported,
        waiting=waiting,
        remembered=remembered,
        known=known,
        map_name=taken or propose_name(imported["mapping"], imported["file_name"]),
        problem=problem,
    )


@router.post("/{batch}/remember")
def remember(
    request: Request,
    session: Writer,
    batch: PathText,
    name: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)] = "",
) -> Response:
    """Remember what the columns of an import meant, for the next list of the same sender."""
    imported = get_import(session, batch)
    try:
        remember_columns(session, name, imported["mapping"], now=datetime.now(UTC))
    except BadInput as error:
        return _render_batch(request, session, batch, problem=describe_error(error))
    return _render_batch(request, session, batch, remembered=" ".join(name.split()))


@router.post("/remembered/forget")
def forget(
    session: Writer,
    name: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)] = "",
    kind: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)] = "",
) -> Response:
    """Forget columns that were remembered."""
    remove_column_map(session, name, kind)
    return RedirectResponse("/imports#remembered", status_code=303)


@router.post("/{batch}/undo")
def undo(request: Request, session: Writer, batch: PathText) -> Response:
    """Take an import back, or say what stands in the way."""
    try:
        undo_batch(session, batch, datetime.now(UTC))
    except Conflict as error:
        return _render_batch(request, session, batch, problem=describe_error(error))
    return RedirectResponse(f"/imports/{batch}", status_code=303)
