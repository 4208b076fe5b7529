"""One uploaded sheet looked at or loaded, in a process of its own.

``python -m api.import_job`` reads a job as JSON from standard input and writes the answer as JSON to standard
output. A process apart keeps other requests quick, may be ended when it takes too long, and takes whatever a
hostile file does to it along: the database keeps nothing of an import that was not committed.
"""

import json
import sys
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session

from api.problems import Problem, describe_error
from importers.files import Limits
from importers.mapping import Mapping, build_mapping, format_mapping, parse_mapping
from importers.run import ImportOptions
from importers.sheet_file import (
    SHOWN_CHANGES,
    SheetFile,
    build_file_digest,
    inspect_file,
    load_file,
    propose_kind,
)
from kb.database import open_database, open_writer
from kb.edits.idempotency import PostedRequest, add_request, build_request, change_answer
from kb.errors import BadInput, KbError

UPLOAD_LIMITS = Limits(file_bytes=25 * 1024 * 1024, rows=200_000, columns=200)
LISTED_ERRORS = 100


@dataclass(frozen=True, slots=True)
class ImportJob:
    """What was asked for.

    Args:
        action: ``load`` or ``inspect``.
        path: where the file lies; never the name that was sent.
        file_name: the name that was sent, for its ending and for the report.
        kind: kind of sheet; None takes the mapping's, or the one that the headings fill best.
        mapping: what the columns mean, as TOML or JSON.
        dry_run: write nothing.
        keep_good_rows: write the good rows, leave the refused ones out.
        key: Idempotency-Key, where one was sent.
        caller: who asks.
    """

    action: str
    path: str
    file_name: str
    kind: str | None = None
    mapping: str | None = None
    dry_run: bool = False
    keep_good_rows: bool = False
    key: str | None = None
    caller: str = "-"


@dataclass(frozen=True, slots=True)
class JobAnswer:
    """Status and body of the answer; a refusal is a problem instead of a body."""

    status: int
    body: dict[str, Any] | None = None
    problem: dict[str, Any] | None = None


def run_job(engine: Engine, job: ImportJob) -> JobAnswer:
    """Do the job; errors that can be explained are answers."""
    try:
        file = SheetFile(Path(job.path), job.file_name, _choose_mapping(job), UPLOAD_LIMITS)
        if job.action == "inspect":
            found = inspect_file(file)
            return JobAnswer(200, found.as_json() | {"mapping": format_mapping(found.mapping)})
        with open_writer(engine) as session:
            return _load_once(session, file, job)
    except KbError as error:
        problem = describe_error(error)
        return JobAnswer(problem.code, problem=_shape_problem(problem))


def _shape_problem(problem: Problem) -> dict[str, Any]:
    return {
        "slug": problem.slug,
        "detail": problem.detail,
        "extra": problem.extra,
        "headers": problem.headers,
    }


def _choose_mapping(job: ImportJob) -> Mapping:
    if job.mapping:
        return parse_mapping(job.mapping, kind=job.kind)
    if job.kind:
        return build_mapping({"kind": job.kind})
    trial = SheetFile(Path(job.path), job.file_name, build_mapping({"kind": "parts"}), UPLOAD_LIMITS)
    kind = propose_kind(trial)
    if kind is None and job.action == "load":
        raise BadInput(
            "What kind of sheet is it? Write it as kind, for example parts or offers.", field="kind"
        )
    return build_mapping({"kind": kind or "parts"})


def _load_once(session: Session, file: SheetFile, job: ImportJob) -> JobAnswer:
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
        limits=file.limits,
        keeps_good_rows=job.keep_good_rows,
        shown_changes=SHOWN_CHANGES,
    )
    report = load_file(session, file, now=datetime.now(UTC), options=options)
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
    said = {**asdict(job), "path": build_file_digest(file.path)}
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
    """Read a job, do it, write the answer."""
    said = json.loads(sys.stdin.read())
    engine = open_database(said["database"])
    try:
        answer = run_job(engine, ImportJob(**said["job"]))
    finally:
        engine.dispose()
    sys.stdout.write(json.dumps(asdict(answer), ensure_ascii=True))
    sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
