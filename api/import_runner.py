"""Starts import jobs in processes of their own, each with a time limit; loads one at a time.

A job that was stopped, took too long or broke has written nothing, unless it had committed already: the
database itself is asked which of both it was.
"""

import json
import threading
from contextlib import suppress
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, text

from api.import_job import ImportJob, JobAnswer, run_job
from api.import_process import JobProcess, Standby
from api.import_watch import ImportWatch, Stopped
from importers.sheet_file import build_file_digest
from kb.database import open_reader
from kb.lookups.imports import find_import_of_file

LONGEST_SECONDS = 60.0
LONGEST_LOOK_SECONDS = 20.0
LOOKS_AT_ONCE = 2
RETRY_AFTER_SECONDS = 5


class ImportRunner:
    """Runs import jobs for one application.

    Args:
        engine: the database of the application.
        seconds: how long one job may take whose answer is waited for.

    Attributes:
        runs_apart: false runs jobs within this process, which then cannot be ended.
    """

    def __init__(self, engine: Engine, *, seconds: float = LONGEST_SECONDS) -> None:
        self._engine = engine
        self._seconds = seconds
        self.runs_apart = True
        self._standby = Standby()
        self._loads = threading.BoundedSemaphore(1)
        self._looks = threading.BoundedSemaphore(LOOKS_AT_ONCE)

    def prepare(self) -> None:
        """Start the process of the next job now, so that a file is looked at without waiting for that."""
        if self.runs_apart:
            self._standby.prepare()

    def run(self, job: ImportJob) -> JobAnswer:
        """Answer of a job; 429 while another one runs.

        Raises:
            Stopped: the job took too long; nothing was written.
        """
        is_look = job.action == "inspect"
        slots, seconds = (self._looks, LONGEST_LOOK_SECONDS) if is_look else (self._loads, self._seconds)
        if not slots.acquire(timeout=seconds if is_look else 0):
            detail = "Another file is being imported; one goes at a time. Try again in a moment."
            headers = {"Retry-After": str(RETRY_AFTER_SECONDS)}
            problem = {"slug": "too-many-requests", "detail": detail, "extra": {}, "headers": headers}
            return JobAnswer(429, problem=problem)
        try:
            return self._run(job, ImportWatch(), seconds=min(seconds, self._seconds))
        finally:
            slots.release()

    def run_in_turn(self, job: ImportJob, watch: ImportWatch, *, seconds: float) -> JobAnswer:
        """Answer of a job that waits for its turn, tells how far it is, and may be stopped.

        Raises:
            Stopped: it was stopped or took too long; nothing was written.
        """
        while not self._loads.acquire(timeout=0.2):
            watch.check()
        try:
            watch.begin()
            return self._run(job, watch, seconds=seconds)
        finally:
            self._loads.release()

    def _run(self, job: ImportJob, watch: ImportWatch, *, seconds: float) -> JobAnswer:
        address = self._find_address()
        if address is None:
            return run_job(self._engine, job, watch.note)
        began_at = datetime.now(UTC)
        try:
            process = self._standby.take()
            return _run_apart(process, build_order(address, job), watch, seconds=seconds)
        except (Stopped, RuntimeError):
            written = None if job.action == "inspect" or job.dry_run else self._find_written(job, began_at)
            if written is None:
                raise
            return JobAnswer(201, written)

    def _find_written(self, job: ImportJob, began_at: datetime) -> dict[str, Any] | None:
        digest = build_file_digest(Path(job.path))
        with open_reader(self._engine) as session:
            return find_import_of_file(session, digest, since=began_at)

    def _find_address(self) -> str | None:
        """Address of the database for another process; None for one in memory."""
        if not self.runs_apart:
            return None
        if self._engine.dialect.name != "sqlite":
            return self._engine.url.render_as_string(hide_password=False)
        with self._engine.connect() as connection:
            # A connection that was used before may have a temporary database beside the main one.
            files = {row[1]: row[2] for row in connection.execute(text("PRAGMA database_list"))}
        return files["main"] or None


def build_order(address: str, job: ImportJob) -> bytes:
    """What a process is told: the database and the job, on one line."""
    return json.dumps({"database": address, "job": asdict(job)}).encode() + b"\n"


def _run_apart(process: JobProcess, order: bytes, watch: ImportWatch, *, seconds: float) -> JobAnswer:
    clock = threading.Timer(seconds, watch.stop, [_explain_time(seconds)])
    clock.start()
    try:
        watch.hold(process.end)
        for told in process.follow(order):
            if "answer" in told:
                return JobAnswer(**told["answer"])
            with suppress(Stopped):  # its end was sent for already
                watch.note(*told["progress"])
        watch.check()
        raise RuntimeError(f"import job ended by {process.wait()}: {process.read_complaint()}")
    finally:
        clock.cancel()
        process.close()


def _explain_time(seconds: float) -> str:
    return (
        f"The import took longer than {seconds:g} s and was stopped; nothing was written; "
        "split the file, or load it on the command line."
    )
