"""Imports over HTTP: look at a sheet, load it, read its report, take it back."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Form, Header, Query, Request, UploadFile
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.shape import Answer
from api.dependencies import MAX_PAGE, MAX_TEXT, NO_NUL, PathText, Reader, Writer, name_caller
from api.import_job import ImportJob, JobAnswer
from api.marks import Following, open_row_mark
from api.problems import MEDIA_TYPE, Problem, build_body
from kb.edits.undo import undo_batch
from kb.lookups.imports import get_import, list_imports

router = APIRouter(prefix="/api/imports", tags=["imports"], responses=WRITE_PROBLEMS)

LONGEST_MAPPING = 200_000


class ImportAnswer(Answer):
    """What an import did or, for a dry run, would do."""

    batch: str | None
    dry_run: bool
    files: list[dict[str, Any]]


class UndoAnswer(Answer):
    """What was taken back: rows by table."""

    batch: str
    removed: dict[str, int]
    restored: dict[str, int]
    kept: dict[str, int]


@contextmanager
def keep_upload(file: UploadFile) -> Iterator[Path]:
    """The sent bytes in a file for this user only, under a name of our own."""
    handle, name = tempfile.mkstemp(prefix="counterhand-import-")
    try:
        with os.fdopen(handle, "wb") as target:
            shutil.copyfileobj(file.file, target)
        yield Path(name)
    finally:
        os.unlink(name)


class ImportForm(BaseModel):
    """What is said beside the file."""

    file: UploadFile
    kind: str | None = Field(
        None, max_length=MAX_TEXT, pattern=NO_NUL, description="Kind of sheet, for example offers."
    )
    mapping: str | None = Field(
        None, max_length=LONGEST_MAPPING, description="What the columns mean, TOML or JSON."
    )
    dry_run: bool = Field(default=False, description="Say what would happen, write nothing.")
    keep_good_rows: bool = Field(default=False, description="Write the good rows, leave refused ones out.")


ImportPost = Annotated[ImportForm, Form(media_type="multipart/form-data")]


@router.post("", response_model=ImportAnswer, status_code=201, responses={200: {"model": ImportAnswer}})
def post_import(
    request: Request,
    post: ImportPost,
    key: Annotated[str | None, Header(alias="Idempotency-Key")] = None,
) -> Response:
    """Load a CSV, TSV, XLSX or ODS file; all of it or nothing, unless good rows are to be kept.

    201: loaded. 200: a dry run, or nothing changed, because all of it was loaded before: so a repetition is
    harmless without an Idempotency-Key too. 422: rows were refused and nothing was written; ``errors`` lists
    them.
    """
    with keep_upload(post.file) as path:
        job = ImportJob(
            "load",
            str(path),
            _name(post.file),
            post.kind,
            post.mapping,
            dry_run=post.dry_run,
            keep_good_rows=post.keep_good_rows,
            key=key,
            caller=name_caller(request) or "-",
        )
        return _answer(request, request.app.state.import_runner.run(job))


@router.post("/inspect", response_model=Answer)
def post_inspection(request: Request, post: ImportPost) -> Response:
    """Look at a file: headings, the columns that they may mean, how certain that is; nothing is written."""
    with keep_upload(post.file) as path:
        job = ImportJob("inspect", str(path), _name(post.file), post.kind, post.mapping)
        return _answer(request, request.app.state.import_runner.run(job))


def _name(file: UploadFile) -> str:
    """The last part of the name that was sent; it is shown, and never used as a path."""
    return (file.filename or "upload").replace("\\", "/").rpartition("/")[2][:MAX_TEXT] or "upload"


def _answer(request: Request, answer: JobAnswer) -> Response:
    if answer.problem is not None:
        problem = Problem(**answer.problem)
        request_id = getattr(request.state, "request_id", "")
        body = build_body(problem, instance=request.url.path, request_id=request_id)
        return Response(body, problem.code, headers=problem.headers, media_type=MEDIA_TYPE)
    body = answer.body or {}
    headers = {"Location": f"/api/imports/{body['batch']}"} if answer.status == 201 else {}
    return JSONResponse(body, answer.status, headers=headers)


@router.get("", responses=READ_PROBLEMS)
def get_imports(
    following: Following,
    session: Reader,
    limit: Annotated[int, Query(ge=1, le=MAX_PAGE)] = 50,
    after: Annotated[str | None, Query(max_length=MAX_TEXT, pattern=NO_NUL)] = None,
) -> dict[str, Any]:
    """Imports, the newest first, a page at a time."""
    batches, next_row = list_imports(session, limit=limit, before=open_row_mark(after))
    mark = None if next_row is None else str(next_row)
    following.link(mark)
    return {"imports": batches, "after": mark}


@router.get("/{batch}", response_model=ImportAnswer, responses=READ_PROBLEMS)
def get_import_report(session: Reader, batch: PathText) -> dict[str, Any]:
    """Report of an import: what it added, changed, left alone and left out; whether it was taken back."""
    return get_import(session, batch)


@router.delete("/{batch}", response_model=UndoAnswer)
def delete_import(session: Writer, batch: PathText) -> dict[str, Any]:
    """Take an import back: what it added goes, what it changed is as before; 409 where work depends on it."""
    return undo_batch(session, batch, datetime.now(UTC)).as_json()
