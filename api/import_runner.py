"""Starts import jobs in processes of their own, one at a time, each with a time limit."""

import json
import os
import subprocess
import sys
import threading
from dataclasses import asdict
from pathlib import Path

from sqlalchemy import Engine, text

from api.import_job import ImportJob, JobAnswer, run_job
from kb.errors import BadInput

LONGEST_SECONDS = 60.0
RETRY_AFTER_SECONDS = 5
_ROOM = Path(__file__).parent.parent


class ImportRunner:
    """Runs import jobs for one application.

    Args:
        engine: the database of the application.
        seconds: how long one job may take.
    """

    def __init__(self, engine: Engine, *, seconds: float = LONGEST_SECONDS) -> None:
        self._engine = engine
        self._seconds = seconds
        self._busy = threading.Lock()

    def run(self, job: ImportJob) -> JobAnswer:
        """Answer of a job; 429 while another one runs.

        Raises:
            BadInput: the job took too long or was ended; nothing was written.
        """
        if not self._busy.acquire(blocking=False):
            detail = "Another file is being imported; one goes at a time. Try again in a moment."
            headers = {"Retry-After": str(RETRY_AFTER_SECONDS)}
            problem = {"slug": "too-many-requests", "detail": detail, "extra": {}, "headers": headers}
            return JobAnswer(429, problem=problem)
        try:
            address = self._find_address()
            return run_job(self._engine, job) if address is None else self._run_apart(address, job)
        finally:
            self._busy.release()

    def _find_address(self) -> str | None:
        """Address of the database for another process; None for one in memory."""
        if self._engine.dialect.name != "sqlite":
            return self._engine.url.render_as_string(hide_password=False)
        with self._engine.connect() as connection:
            path = connection.execute(text("PRAGMA database_list")).one()[2]
        return str(path) or None

    def _run_apart(self, address: str, job: ImportJob) -> JobAnswer:
        paths = [str(_ROOM), os.environ.get("PYTHONPATH", "")]
        said = json.dumps({"database": address, "job": asdict(job)})
        try:
            done = subprocess.run(
                [sys.executable, "-m", "api.import_job"],
                input=said.encode(),
                capture_output=True,
                timeout=self._seconds,
                check=True,
                env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
            )
        except subprocess.TimeoutExpired as error:
            message = (
                f"The import took longer than {self._seconds:g} s and was stopped; nothing was written; "
                "split the file, or load it on the command line."
            )
            raise BadInput(message, field="file") from error
        except subprocess.CalledProcessError as error:
            said_last = error.stderr.decode("utf-8", "replace").strip().splitlines()[-1:]
            raise RuntimeError(f"import job ended by {error.returncode}: {said_last}") from error
        return JobAnswer(**json.loads(done.stdout))
