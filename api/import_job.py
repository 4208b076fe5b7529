"""One uploaded sheet looked at or loaded, in a process of its own.

``python -m api.import_job`` reads a job as one line of JSON from standard input and writes lines of JSON to
standard output: ``{"progress": [bytes read, bytes in all, rows]}`` and at last ``{"answer": ...}``. A process
apart keeps other requests quick, may be ended when it takes too long, and takes whatever a hostile file does
to it along: the database keeps nothing of an import that was not committed. When the server ends, standard
input does, and the job ends with it.
"""

import json
import os
import sys
import threading
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session

from importers.limits import Limits
from importers.mapping import Mapping, build_mapping, format_mapping, parse_mapping
from importers.run import ImportOptions, Progress
from importers.sheet_file import (
    SHOWN_CHANGES,
    SheetFile,
    build_file_digest,
    format_refused,
    inspect_file,
    load_file,
    propose_kind,
)
from kb.database import open_database, open_trial, open_writer
from kb.edits.idempotency import PostedRequest, add_request, build_request, change_answer
from kb.errors import BadInput, KbError

UPLOAD_LIMITS = Limits(file_bytes=25 * 1024 * 1024, rows=200_000, columns=200)
LISTED_ERRORS = 100
MEMORY_BYTES = 1_500_000_000


@dataclass(frozen=True, slots=True)
class ImportJob:
    """What was asked for.

    Args:
        action: ``load`` or ``inspect``.
        path: where the file lies; never the name that was sent.
        file_name: the name that was sent, for its ending and for the report.
        kind: kind of sheet; None takes the mapping's, or the one that the headings fill best.
        mapping: what the columns mean, as TOML or JSON.
        form: how the file is written, for finding out what it is.
        dry_run: write nothing.
        keep_good_rows: write the good rows, leave the refused ones out.
        key: Idempotency-Key, where one was sent.
        caller: who asks.
        refused_path: where the refused rows are written as CSV; nowhere when none was refused.
    """

    action: str
    path: str
    file_name: str
    kind: str | None = None
    mapping: str | None = None
    form: dict[str, str] | None = None
    dry_run: bool = False
    keep_good_rows: bool = False
    key: str | None = None
    caller: str = "-"
    refused_path: str | None = None


@dataclass(frozen=True, slots=True)
class JobAnswer:
    """Status and body of the answer; a refusal is a problem instead of a body."""

    status: int
    body: dict[str, Any] | None = None
    problem: dict[str, Any] | None = None


def run_job(engine: Engine, job: ImportJob, progress: Progress | None = None) -> JobAnswer:
    """Do the job; errors that can be explained are answers."""
    try:
        mapping = _choose_mapping(job)
        file = _build_file(job, mapping)
        if job.action == "inspect":
            found = inspect_file(file)
            more = {"mapping": format_mapping(found.mapping), "is_kind_clear": mapping is not None}
            return JobAnswer(200, found.as_json() | more)
        if mapping is None:
            message = "What kind of sheet is it? Write it as kind, for example parts or offers."
            raise BadInput(message, field="kind")
        # A preview never keeps other writers waiting.
        with open_trial(engine) if job.dry_run else open_writer(engine) as session:
            return _load_once(session, file, job, progress)
    except KbError as error:
        return _refuse_job(error)
    except MemoryError:
        message = "The file needs more memory than a price list; split it, or save it as CSV."
        return _refuse_job(BadInput(message, field="file"))


def _refuse_job(error: KbError) -> JobAnswer:
    from api.problems import describe_error  # noqa: PLC0415 - slow import, and most files are read

    problem = describe_error(error)
    shaped = {
        "slug": problem.slug,
        "detail": problem.detail,
        "extra": problem.extra,
        "headers": problem.headers,
    }
    return JobAnswer(problem.code, problem=shaped)


def _choose_mapping(job: ImportJob) -> Mapping | None:
    """What was said of the file, or what its headings say; None where they do not say what it is."""
    if job.mapping:
        return parse_mapping(job.mapping, kind=job.kind)
    kind = job.kind or _propose_list_kind(_build_file(job, None))
    return build_mapping({"kind": kind, "form": job.form or {}}) if kind else None


def _build_file(job: ImportJob, mapping: Mapping | None) -> SheetFile:
    mapping = mapping or build_mapping({"kind": "parts", "form": job.form or {}})
    return SheetFile(Path(job.path), job.file_name, mapping, UPLOAD_LIMITS)


def _propose_list_kind(file: SheetFile) -> str | None:
    """A list with a column of prices is a price list; else the kind whose columns the headings fill best."""
    offers = replace(file, mapping=replace(file.mapping, kind="offers"))
    plan = inspect_file(offers, sample_rows=0).plan
    if plan is not None and any(
        match.column == "price" or "price" in match.alternatives for match in plan.matches
    ):
        return "offers"
    return propose_kind(file)


def _load_once(session: Session, file: SheetFile, job: ImportJob, progress: Progress | None) -> JobAnswer:
    """Load; a repetition under the same key gets the first answer. Refusals leave the key free."""
    asked = _build_request(file, job)
    if asked is not None:
        stored = add_request(session, asked, now=datetime.now(UTC))
        if stored is not None and stored.is_same and stored.status and stored.body is not None:
            return JobAnswer(stored.status, json.loads(stored.body))
        if stored is not None:
            message = "The Idempotency-Key was used for something else; write a new key. Nothing was loaded."
            raise BadInput(message, field="Idempotency-Key")
    options = ImportOptions(
        dry_run=job.dry_run,
        progress=progress,
        limits=file.limits,
        keeps_good_rows=job.keep_good_rows,
        shown_changes=SHOWN_CHANGES,
    )
    report = load_file(session, file, now=datetime.now(UTC), options=options)
    if job.refused_path is not None and report.files[0].refused_lines:
        text = format_refused(file, report.files[0])
        handle = os.open(job.refused_path, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file_of_refused:
            file_of_refused.write(text)
    body = report.as_json()
    if report.has_problems and report.batch is None and not job.dry_run:
        session.rollback()
        return JobAnswer(422, problem=_refuse(body))
    answer = JobAnswer(201 if report.batch is not None else 200, body)
    if asked is not None:
        change_answer(session, asked, status=answer.status, body=json.dumps(body, ensure_ascii=False))
    return answer


def _build_request(file: SheetFile, job: ImportJob) -> PostedRequest | None:
    if job.key is None:
        return None
    said = {**asdict(job), "path": build_file_digest(file.path), "refused_path": None}
    return build_request(job.key, job.caller, "POST /api/imports", body=json.dumps(said).encode())


def _refuse(body: dict[str, Any]) -> dict[str, Any]:
    """The problem of a refused file: every row with what was found and what was expected."""
    problems = [problem for file in body["files"] for problem in file["problems"]]
    count = sum(file["problem_count"] for file in body["files"])
    errors = [
        {
            "row": problem["line"],
            "column": problem["column"],
            "found": problem["value"],
            "expected": problem["message"],
            "code": "cell" if problem["column"] else "row",
        }
        for problem in problems[:LISTED_ERRORS]
    ]
    first = problems[0] if problems else {"line": 1, "message": "Nothing could be read."}
    detail = f"Nothing was written; {count} problems, the first in row {first['line']}: {first['message']}"
    return {
        "slug": "import-refused",
        "detail": detail,
        "extra": {"errors": errors, "error_count": count, "report": body},
        "headers": {},
    }


def main() -> int:
    """Read a job, do it, tell how far it is, write the answer."""
    said = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_the_server, daemon=True).start()
    _limit_memory()
    engine = open_database(said["database"])
    try:
        answer = run_job(engine, ImportJob(**said["job"]), _tell_progress)
    finally:
        engine.dispose()
    _tell({"answer": asdict(answer)})
    return 0


def _end_with_the_server() -> None:
    with suppress(OSError, ValueError):
        while os.read(0, 4096):
            pass
    os._exit(1)


def _limit_memory() -> None:
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    _soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    with suppress(ValueError, OSError):  # the system allows less already
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, hard))


def _tell_progress(done: int, total: int, rows: int) -> None:
    _tell({"progress": [done, total, rows]})


def _tell(said: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(said, ensure_ascii=True) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
