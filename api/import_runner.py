"""Starts import jobs in processes of their own, each with a time limit; loads one at a time.

A job that was stopped, took too long or broke has written nothing, unless it had committed already: the
database itself is asked which of both it was.
"""

import json
import logging
import os
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Engine, text

from api.import_job import ImportJob, JobAnswer, run_job
from api.import_watch import ImportWatch, Stopped
from importers.sheet_file import build_file_digest
from kb.database import open_reader
from kb.lookups.imports import find_import_of_file

LONGEST_SECONDS = 60.0
LONGEST_LOOK_SECONDS = 20.0
LOOKS_AT_ONCE = 2
RETRY_AFTER_SECONDS = 5
_ROOM = Path(__file__).parent.parent
_log = logging.getLogger("counterhand.imports")


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
        self._loads = threading.BoundedSemaphore(1)
        self._looks = threading.BoundedSemaphore(LOOKS_AT_ONCE)

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
            return _run_apart(address, job, watch, seconds=seconds)
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


def _run_apart(address: str, job: ImportJob, watch: ImportWatch, *, seconds: float) -> JobAnswer:
    said = json.dumps({"database": address, "job": asdict(job)})
    with tempfile.TemporaryFile() as complaints, _start(complaints) as process:
        clock = threading.Timer(seconds, watch.stop, [_explain_time(seconds)])
        clock.start()
        try:
            watch.hold(lambda: _end(process))
            answer = _talk(process, said, watch)
        finally:
            clock.cancel()
            _end(process)
        if answer is not None:
            return JobAnswer(**answer)
        watch.check()
        process.wait()
        complaints.seek(0)
        said_last = complaints.read().decode("utf-8", "replace").strip().splitlines()[-1:]
        raise RuntimeError(f"import job ended by {process.returncode}: {said_last}")


@contextmanager
def _start(complaints: IO[bytes]) -> Iterator["subprocess.Popen[bytes]"]:
    paths = [str(_ROOM), os.environ.get("PYTHONPATH", "")]
    process = subprocess.Popen(
        [sys.executable, "-m", "api.import_job"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=complaints,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
        start_new_session=True,  # so that the reader of a workbook ends with it
    )
    try:
        yield process
    finally:
        _end(process)
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError):
                pipe.close()  # type: ignore[union-attr]
        process.wait()


def _talk(process: "subprocess.Popen[bytes]", said: str, watch: ImportWatch) -> dict[str, Any] | None:
    """Send the job and follow it to its answer; None when it ends without one."""
    assert process.stdin is not None
    assert process.stdout is not None
    with suppress(BrokenPipeError):
        process.stdin.write(said.encode() + b"\n")
        process.stdin.flush()
    for line in process.stdout:
        try:
            told = json.loads(line)
        except ValueError:  # cut off by its end
            return None
        if "answer" in told:
            answer: dict[str, Any] = told["answer"]
            return answer
        with suppress(Stopped):  # its end was sent for already
            watch.note(*told["progress"])
    return None


def _end(process: "subprocess.Popen[bytes]") -> None:
    """End a job at once, with what it started; nothing for one that has ended."""
    if process.poll() is not None:
        return
    with suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()


def _explain_time(seconds: float) -> str:
    return (
        f"The import took longer than {seconds:g} s and was stopped; nothing was written; "
        "split the file, or load it on the command line."
    )
