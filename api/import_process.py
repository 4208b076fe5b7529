"""The process of one import job: started, told its job, followed line by line, ended with all it started.

One may stand by, started and waiting for its job, because starting takes longer than looking at most files.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import weakref
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

_ROOM = Path(__file__).parent.parent


class JobProcess:
    """A process that waits for its job; closed by whoever took it."""

    def __init__(self) -> None:
        paths = [str(_ROOM), os.environ.get("PYTHONPATH", "")]
        self._complaints = tempfile.TemporaryFile()  # noqa: SIM115 - closed with the process
        self._process = subprocess.Popen(
            [sys.executable, "-m", "api.import_job"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._complaints,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
            start_new_session=True,  # so that the reader of a workbook ends with it
        )

    @property
    def is_alive(self) -> bool:
        """Whether it has not ended."""
        return self._process.poll() is None

    def follow(self, order: bytes) -> Iterator[dict[str, Any]]:
        """Send the job; all that it tells, until it ends."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        with suppress(BrokenPipeError):
            self._process.stdin.write(order)
            self._process.stdin.flush()
        for line in self._process.stdout:
            try:
                told: dict[str, Any] = json.loads(line)
            except ValueError:  # cut off by its end
                return
            yield told

    def end(self) -> None:
        """End it at once, with what it started; nothing when it has ended."""
        if not self.is_alive:
            return
        with suppress(OSError):
            if hasattr(os, "killpg"):
                os.killpg(self._process.pid, signal.SIGKILL)
            else:
                self._process.kill()

    def wait(self) -> int:
        """How it ended."""
        return self._process.wait()

    def read_complaint(self) -> str:
        """The last line that it wrote to standard error."""
        self._complaints.seek(0)
        lines = self._complaints.read().decode("utf-8", "replace").strip().splitlines()
        return lines[-1] if lines else ""

    def close(self) -> None:
        """End it, and give back what it held."""
        self.end()
        for pipe in (self._process.stdin, self._process.stdout, self._complaints):
            with suppress(OSError):
                pipe.close()  # type: ignore[union-attr]
        self._process.wait()


class Standby:
    """At most one process that waits for its job; it ends with the application."""

    def __init__(self) -> None:
        self._waiting: list[JobProcess] = []
        self._lock = threading.Lock()
        weakref.finalize(self, _close_all, self._waiting)

    def prepare(self) -> None:
        """Have one waiting."""
        with self._lock:
            if not (self._waiting and self._waiting[0].is_alive):
                _close_all(self._waiting)
                self._waiting.append(JobProcess())

    def take(self) -> JobProcess:
        """The one that waits, or a new one."""
        with self._lock:
            process = self._waiting.pop() if self._waiting else None
        if process is not None and process.is_alive:
            return process
        if process is not None:
            process.close()
        return JobProcess()


def _close_all(waiting: list[JobProcess]) -> None:
    while waiting:
        waiting.pop().close()
