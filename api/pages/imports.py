"""Importing a file step by step: choose it, say what it is, map its columns, see what would happen, load it.

Nothing is written before the last step, and what was written can be taken back from the list.
"""

import shutil
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request, UploadFile
from sqlmodel import Session
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, Reader
from api.import_job import UPLOAD_LIMITS
from api.pages.import_columns import LONGEST_NAME, UNDECIDED, build_columns, clean_file_name, list_questions
from api.pages.import_duplicates import list_duplicates
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.remembered import list_offers, take_columns
from api.waiting_import import ImportDesk, WaitingImport, check_token
from importers.mapping import build_mapping, get_kinds, get_sheet, is_decision
from importers.table import TEXT_ENDINGS, WORKBOOK_ENDINGS
from importers.table_form import DATE_ORDERS, DELIMITERS, ENCODINGS
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.column_maps import list_column_maps
from kb.lookups.imports import list_imports
from kb.lookups.locations import list_locations
from kb.lookups.suppliers import list_suppliers

router = APIRouter(prefix="/imports", include_in_schema=False)

SHOWN_BATCHES = 30
# What is usually the same in every row of a list.
USUAL_VALUES = ("supplier", "location", "maker", "part_type", "source", "currency", "seen_on", "counted_on")
KIND_WORDS = {
    "offers": "a supplier's price list",
    "parts": "parts with their sizes",
    "stock": "a stock count",
    "demand": "pieces given out in the past",
    "fits": "what fits which engine",
}
TOPIC_WORDS = {
    "left_out": "Rows that are no rows of the table",
    "assumed": "Assumed",
    "number_as_code": "Codes that came as numbers",
    "conflict": "Contradicts what is known",
    "heading": "Headings",
}
_DECISION = "decision-"
_FORM_NAMES = ("encoding", "delimiter", "decimal", "dates", "sheet")
# Another one of these may mean other headings.
_LAYOUT_NAMES = ("encoding", "delimiter", "sheet")
# What the form does not show and yet holds as long as the file is read in the same way.
_CARRIED = ("decisions", "duplicates", "units", "read_sizes", "source_kind")
_TOLD_STEP_PERCENT = 25


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
def show_imports(
    session: Reader, desk: Desk, before: Annotated[int | None, Query(ge=0, le=2**53)] = None
) -> Response:
    """Choosing a file, and the imports that were made."""
    desk.prepare()
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
        most_bytes=UPLOAD_LIMITS.file_bytes,
        remembered=list_column_maps(session),
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
    return RedirectResponse(waiting.address, status_code=303)


@router.get("/new/{token}")
def show_columns(session: Reader, desk: Desk, waiting: Waiting) -> Response:
    """What the file is and what its columns mean."""
    if waiting.batch:
        return RedirectResponse(f"/imports/{waiting.batch}", status_code=303)
    if waiting.said != waiting.looked_by:
        desk.look(waiting)
    return _render_columns(session, waiting)


def _render_columns(session: Session, waiting: WaitingImport, problem: Problem | None = None) -> Response:
    look = waiting.look
    sheet = get_sheet(waiting.said["kind"]) if waiting.said.get("kind") else None
    columns = build_columns(waiting) if sheet else []
    taken = {column.chosen for column in columns}
    said_values = waiting.said.get("values", {})
    questions = list_questions(waiting)
    missing = {item["column"] for item in questions if item["value"] == ""}
    return render(
        "import_columns.html",
        status=problem.code if problem else 200,
        waiting=waiting,
        kinds=[(kind, KIND_WORDS.get(kind, "")) for kind in sorted(get_kinds(), key=_order_kind)],
        look=look,
        questions=[item["message"] for item in questions],
        offers=list_offers(session, waiting) if not waiting.remembered else [],
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
        _take_choices(waiting, fields)
        desk.save(waiting)
        if fields.get("go") != "preview":
            return RedirectResponse(waiting.address, status_code=303)
        _check_decided(waiting, fields)
        return _start(desk, waiting, dry_run=True, keeps_good_rows=False)
    except (BadInput, Conflict) as error:
        return _render_columns(session, waiting, describe_error(error))


def _check_decided(waiting: WaitingImport, fields: FormData) -> None:
    if not waiting.said.get("kind"):
        raise BadInput("Say first what the file is.", field="kind")
    for column in build_columns(waiting):
        if column.certainty == "new" and fields.get(f"column-{column.place}") == UNDECIDED:
            raise BadInput(
                f"Heading '{column.heading}' is new in this list; say what it is, or leave the column out.",
                field="columns",
            )


def _take_choices(waiting: WaitingImport, fields: FormData) -> None:
    kind = str(fields.get("kind", ""))
    form = {name: str(fields.get(f"form-{name}", "")).strip() for name in _FORM_NAMES}
    form = {name: text for name, text in form.items() if text}
    before = waiting.said.get("form", {})
    is_other = kind != waiting.said.get("kind") or any(form.get(n) != before.get(n) for n in _LAYOUT_NAMES)
    said: dict[str, Any] = {"kind": kind} if kind else {}
    said |= {"form": form} if kind or form else {}
    if kind and not is_other:
        chosen = {
            item["heading"]: str(fields.get(f"column-{place}", UNDECIDED))
            for place, item in enumerate(waiting.headings)
            if item["heading"]
        }
        said["columns"] = {heading: name for heading, name in chosen.items() if name != UNDECIDED}
        said |= {name: waiting.said[name] for name in _CARRIED if name in waiting.said}
    values = {
        name.removeprefix("value-"): str(text).strip()
        for name, text in fields.items()
        if name.startswith("value-") and str(text).strip()
    }
    if kind and kind == waiting.said.get("kind") and values:
        said["values"] = values
    if said:
        waiting.said, waiting.preview = said, None
        waiting.remembered = None if is_other else waiting.remembered
        build_mapping({"kind": "parts"} | said)  # raises where a word is not accepted


@router.post("/new/{token}/remembered")
def take_remembered(
    session: Reader,
    desk: Desk,
    waiting: Waiting,
    name: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)],
    kind: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)],
) -> Response:
    """Read the file by columns that were remembered."""
    try:
        take_columns(session, waiting, name, kind)
    except (BadInput, NotFound) as error:
        return _render_columns(session, waiting, describe_error(error))
    desk.save(waiting)
    return RedirectResponse(waiting.address, status_code=303)


def _start(desk: ImportDesk, waiting: WaitingImport, *, dry_run: bool, keeps_good_rows: bool) -> Response:
    run = desk.start(waiting, dry_run=dry_run, keeps_good_rows=keeps_good_rows)
    place = "preview" if run.ended.is_set() else "working"
    return RedirectResponse(f"{waiting.address}/{place}", status_code=303)


@router.get("/new/{token}/working")
def show_progress(
    request: Request, desk: Desk, waiting: Waiting, told: Annotated[int, Query(ge=-1, le=100)] = -1
) -> Response:
    """How far a long run is; goes on by itself when it has ended. What was ``told`` is not told again."""
    run = desk.find_run(waiting.token)
    is_asked_by_page = "hx-request" in request.headers
    if run is None:
        if is_asked_by_page:
            return Response(headers={"HX-Redirect": f"{waiting.address}/preview"})
        return RedirectResponse(f"{waiting.address}/preview", status_code=303)
    name = "import_bar.html" if is_asked_by_page else "import_working.html"
    step = run.percent // _TOLD_STEP_PERCENT * _TOLD_STEP_PERCENT
    return render(name, waiting=waiting, run=run, step=step, is_told=step <= told)


@router.post("/new/{token}/stop")
def stop(desk: Desk, waiting: Waiting) -> Response:
    """End a run; nothing of it is written. One that had ended already stays as it is."""
    desk.stop(waiting.token)
    return RedirectResponse(f"{waiting.address}/preview", status_code=303)


@router.get("/new/{token}/preview")
def show_preview(desk: Desk, waiting: Waiting) -> Response:
    """What would be added, changed, left alone and refused; or what was."""
    if desk.find_run(waiting.token) is not None:
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
    read = groupby(notices.pop("read_from_text", ()), key=itemgetter("line"))
    return render(
        "import_preview.html",
        waiting=waiting,
        file=file,
        is_result=waiting.result is not None,
        notices=notices,
        topic_words=TOPIC_WORDS,
        read_from_text=[(line, list(items)) for line, items in read],
        duplicates=list_duplicates(notices.pop("duplicate", ()), waiting.said.get("decisions", {})),
    )


@router.post("/new/{token}/decisions")
def decide_duplicates(desk: Desk, waiting: Waiting, fields: Fields) -> Response:
    """Take what was decided about numbers that differ by marks only, and look again."""
    decisions = {
        name.removeprefix(_DECISION): str(word)
        for name, word in fields.items()
        if name.startswith(_DECISION) and is_decision(str(word))
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
