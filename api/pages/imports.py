"""Importing a file step by step: choose it, say what it is, map its columns, see what would happen, load it.

Nothing is written before the last step, and what was written can be taken back from the list.
"""

import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request, UploadFile
from sqlmodel import Session
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from api.dependencies import PathText, Reader, Writer
from api.pages.import_columns import (
    LONGEST_NAME,
    UNDECIDED,
    build_columns,
    clean_file_name,
    propose_list_kind,
)
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.waiting_import import ImportDesk, WaitingImport, check_token
from importers.mapping import Mapping, build_mapping, get_kinds
from importers.sheet_file import inspect_file
from importers.table import TEXT_ENDINGS, WORKBOOK_ENDINGS
from importers.table_form import DATE_ORDERS, DELIMITERS, ENCODINGS
from kb.edits.undo import undo_batch
from kb.errors import BadInput, Conflict, KbError
from kb.lookups.imports import get_import, list_imports
from kb.lookups.locations import list_locations
from kb.lookups.suppliers import list_suppliers

router = APIRouter(prefix="/imports", include_in_schema=False)

SHOWN_BATCHES = 30
# What is usually the same in every row of a list.
USUAL_VALUES = ("supplier", "location", "maker", "source", "currency", "seen_on", "counted_on")
KIND_WORDS = {
    "offers": "a supplier's price list",
    "parts": "parts with their sizes",
    "stock": "a stock count",
    "demand": "pieces given out in the past",
    "fits": "what fits which engine",
}
TOPIC_WORDS = {
    "left_out": "Rows that are no rows of the table",
    "read_from_text": "Read out of descriptions",
    "assumed": "Assumed",
    "number_as_code": "Codes that came as numbers",
    "duplicate": "Perhaps the same part as a stored one",
    "conflict": "Contradicts what is known",
    "heading": "Headings",
}
_DECISION = "decision-"
_FORM_NAMES = ("encoding", "delimiter", "decimal", "dates", "sheet")
# Another one of these may mean other headings.
_LAYOUT_NAMES = ("encoding", "delimiter", "sheet")


def get_desk(request: Request) -> ImportDesk:
    """The uploaded sheets of this application."""
    desk: ImportDesk = request.app.state.imports
    return desk


def find_waiting(request: Request, token: str) -> WaitingImport:
    """The uploaded sheet that the address names."""
    return check_token(get_desk(request), token)


async def read_form(request: Request) -> FormData:
    """All fields of a form whose names depend on the file."""
    form = await request.form(max_files=0, max_fields=1000)
    for value in form.values():
        if not isinstance(value, str) or "\0" in value or len(value) > LONGEST_NAME * 4:
            raise BadInput("A field of the form is longer than any name, or is no text.", field="form")
    return form


Desk = Annotated[ImportDesk, Depends(get_desk)]
Waiting = Annotated[WaitingImport, Depends(find_waiting)]
Fields = Annotated[FormData, Depends(read_form)]


@router.get("")
def show_imports(session: Reader, before: Annotated[int | None, Query(ge=0, le=2**53)] = None) -> Response:
    """Choosing a file, and the imports that were made."""
    return _render_imports(session, before=before)


def _render_imports(
    session: Session, *, before: int | None = None, problem: Problem | None = None
) -> Response:
    batches, mark = list_imports(session, limit=SHOWN_BATCHES, before=before)
    return render(
        "imports.html",
        status=problem.code if problem else 200,
        batches=batches,
        mark=mark,
        endings=",".join((*TEXT_ENDINGS, *WORKBOOK_ENDINGS)),
        problem=problem,
    )


@router.post("")
def upload(session: Reader, desk: Desk, file: UploadFile | None = None) -> Response:
    """Keep the file and go on to its columns."""
    try:
        name = clean_file_name(file.filename if file else None)
    except BadInput as error:
        return _render_imports(session, problem=describe_error(error))
    assert file is not None

    def write(path: Path) -> None:
        with path.open("wb") as target:
            shutil.copyfileobj(file.file, target)

    waiting = desk.add(name, write)
    kind = propose_list_kind(desk.build_file(waiting, Mapping(kind="parts")))
    waiting.said = {"kind": kind} if kind else {}
    desk.save(waiting)
    return RedirectResponse(waiting.address, status_code=303)


@router.get("/new/{token}")
def show_columns(session: Reader, desk: Desk, waiting: Waiting) -> Response:
    """What the file is and what its columns mean."""
    if waiting.batch:
        return RedirectResponse(f"/imports/{waiting.batch}", status_code=303)
    return _render_columns(session, desk, waiting)


def _render_columns(
    session: Session, desk: ImportDesk, waiting: WaitingImport, problem: Problem | None = None
) -> Response:
    found = None
    try:
        if waiting.said.get("kind"):
            found = inspect_file(desk.build_file(waiting, waiting.build_mapping()), sample_rows=3)
    except BadInput as error:
        problem = problem or describe_error(error)
    sheet = found.mapping.sheet if found else None
    columns = build_columns(waiting, found)
    taken = {column.chosen for column in columns}
    said_values = waiting.said.get("values", {})
    missing = {item.column for item in found.problems if item.value == ""} if found else set()
    return render(
        "import_columns.html",
        status=problem.code if problem else 200,
        waiting=waiting,
        kinds=[(kind, KIND_WORDS.get(kind, "")) for kind in sorted(get_kinds(), key=_order_kind)],
        found=found,
        columns=columns,
        all_columns=[(column.name, column.required) for column in sheet.columns] if sheet else [],
        values=[
            (column.name, said_values.get(column.name, ""), column.name in missing)
            for column in (sheet.columns if sheet else ())
            if column.name not in taken and (column.required or column.name in USUAL_VALUES)
        ],
        known_names={
            "supplier": [item.supplier for item in list_suppliers(session)],
            "location": [item.location for item in list_locations(session)],
        },
        form=waiting.said.get("form", {}),
        shown_form=found.plan.form if found and found.plan else None,
        encodings=ENCODINGS,
        delimiters=tuple(DELIMITERS),
        date_orders=DATE_ORDERS,
        problem=problem,
    )


def _order_kind(kind: str) -> tuple[int, str]:
    return (list(KIND_WORDS).index(kind) if kind in KIND_WORDS else len(KIND_WORDS), kind)


@router.post("/new/{token}")
def choose_columns(session: Reader, desk: Desk, waiting: Waiting, fields: Fields) -> Response:
    """Take what was said of the file, and show it again or go on to the preview."""
    try:
        _take_choices(desk, waiting, fields)
        desk.save(waiting)
        if fields.get("go") != "preview":
            return RedirectResponse(waiting.address, status_code=303)
        if not waiting.said.get("kind"):
            raise BadInput("Say first what the file is.", field="kind")
        return _start(desk, waiting, dry_run=True, keeps_good_rows=False)
    except (BadInput, Conflict) as error:
        return _render_columns(session, desk, waiting, describe_error(error))


def _take_choices(desk: ImportDesk, waiting: WaitingImport, fields: FormData) -> None:
    kind = str(fields.get("kind", ""))
    form = {name: str(fields.get(f"form-{name}", "")).strip() for name in _FORM_NAMES}
    form = {name: text for name, text in form.items() if text}
    before = waiting.said.get("form", {})
    is_other = kind != waiting.said.get("kind") or any(form.get(n) != before.get(n) for n in _LAYOUT_NAMES)
    said: dict[str, Any] = {"kind": kind, "form": form} if kind else {}
    if kind and not is_other:
        found = inspect_file(
            desk.build_file(waiting, build_mapping({"kind": kind, "form": form})), sample_rows=0
        )
        matches = found.plan.matches if found.plan else ()
        chosen = {
            match.heading: str(fields.get(f"column-{place}", UNDECIDED))
            for place, match in enumerate(matches)
            if match.heading
        }
        said["columns"] = {heading: name for heading, name in chosen.items() if name != UNDECIDED}
    values = {
        name.removeprefix("value-"): str(text).strip()
        for name, text in fields.items()
        if name.startswith("value-") and str(text).strip()
    }
    if kind and kind == waiting.said.get("kind") and values:
        said["values"] = values
    for name in ("decisions", "duplicates"):
        if name in waiting.said and not is_other:
            said[name] = waiting.said[name]
    if said:
        waiting.said, waiting.preview = said, None
        waiting.build_mapping()


def _start(desk: ImportDesk, waiting: WaitingImport, *, dry_run: bool, keeps_good_rows: bool) -> Response:
    job = desk.start(waiting, dry_run=dry_run, keeps_good_rows=keeps_good_rows)
    place = "preview" if job.ended.is_set() else "working"
    return RedirectResponse(f"{waiting.address}/{place}", status_code=303)


@router.get("/new/{token}/working")
def show_progress(request: Request, desk: Desk, waiting: Waiting) -> Response:
    """How far a long run is; goes on by itself when it has ended."""
    job = desk.find_job(waiting.token)
    is_asked_by_page = "hx-request" in request.headers
    if job is None:
        if is_asked_by_page:
            return Response(headers={"HX-Redirect": f"{waiting.address}/preview"})
        return RedirectResponse(f"{waiting.address}/preview", status_code=303)
    name = "import_bar.html" if is_asked_by_page else "import_working.html"
    return render(name, waiting=waiting, percent=job.percent)


@router.get("/new/{token}/preview")
def show_preview(desk: Desk, waiting: Waiting) -> Response:
    """What would be added, changed, left alone and refused; or what was."""
    if desk.find_job(waiting.token) is not None:
        return RedirectResponse(f"{waiting.address}/working", status_code=303)
    if waiting.batch:
        return RedirectResponse(f"/imports/{waiting.batch}?from={waiting.token}", status_code=303)
    report = waiting.result or waiting.preview
    if report is None and waiting.error is None:
        return RedirectResponse(waiting.address, status_code=303)
    return _render_preview(waiting, report)


def _render_preview(waiting: WaitingImport, report: dict[str, Any] | None) -> Response:
    file = report["files"][0] if report else None
    notices: dict[str, list[dict[str, Any]]] = {}
    for notice in file["notices"] if file else ():
        notices.setdefault(notice["topic"], []).append(notice)
    undecided = [
        item["value"] for item in notices.get("duplicate", ()) if item["message"].endswith("or a new one.")
    ]
    return render(
        "import_preview.html",
        waiting=waiting,
        file=file,
        is_result=waiting.result is not None,
        notices=notices,
        topic_words=TOPIC_WORDS,
        undecided=list(dict.fromkeys(undecided)),
    )


@router.post("/new/{token}/decisions")
def decide_duplicates(desk: Desk, waiting: Waiting, fields: Fields) -> Response:
    """Take what was decided about numbers that differ by marks only, and look again."""
    decisions = {
        name.removeprefix(_DECISION): str(word)
        for name, word in fields.items()
        if name.startswith(_DECISION) and word in ("same", "new")
    }
    waiting.said["decisions"] = {**waiting.said.get("decisions", {}), **decisions}
    if fields.get("all") in ("same", "new"):
        waiting.said["duplicates"] = str(fields["all"])
    desk.save(waiting)
    return _start(desk, waiting, dry_run=True, keeps_good_rows=False)


@router.post("/new/{token}/load")
def load(desk: Desk, waiting: Waiting, keep: Annotated[str, Form(max_length=10)] = "") -> Response:
    """Load the file; a file that was loaded already is not loaded again."""
    if waiting.batch:
        return RedirectResponse(f"/imports/{waiting.batch}?from={waiting.token}", status_code=303)
    if waiting.preview is None:
        return RedirectResponse(waiting.address, status_code=303)
    return _start(desk, waiting, dry_run=False, keeps_good_rows=keep == "true")


@router.get("/new/{token}/refused.csv")
def download_refused(desk: Desk, waiting: Waiting) -> Response:
    """Refused rows as they stood in the file, each with its line and what is wrong."""
    text = desk.read_refused(waiting.token)
    # The byte-order mark tells spreadsheets that it is UTF-8.
    return Response(
        text.encode("utf-8-sig"),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="refused-rows.csv"'},
    )


@router.post("/new/{token}/discard")
def discard(desk: Desk, waiting: Waiting) -> Response:
    """Throw the uploaded file away."""
    desk.discard(waiting.token)
    return RedirectResponse("/imports", status_code=303)


@router.get("/{batch}")
def show_batch(
    request: Request, session: Reader, batch: PathText, uploaded: Annotated[str, Query(alias="from")] = ""
) -> Response:
    """One import: what it did, what it left out, and taking it back."""
    return _render_batch(request, session, batch, uploaded=uploaded)


def _render_batch(
    request: Request, session: Session, batch: str, *, uploaded: str = "", problem: Problem | None = None
) -> Response:
    waiting = None
    if uploaded:
        try:
            waiting = find_waiting(request, uploaded)
        except KbError:
            waiting = None
    imported = get_import(session, batch)
    return render(
        "import_batch.html",
        status=problem.code if problem else 200,
        item=imported,
        waiting=waiting,
        problem=problem,
    )


@router.post("/{batch}/undo")
def undo(request: Request, session: Writer, batch: PathText) -> Response:
    """Take an import back, or say what stands in the way."""
    try:
        undo_batch(session, batch, datetime.now(UTC))
    except Conflict as error:
        return _render_batch(request, session, batch, problem=describe_error(error))
    return RedirectResponse(f"/imports/{batch}", status_code=303)
