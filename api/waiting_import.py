"""A sheet that was uploaded and waits: its name, what was said of its columns, its preview, its progress.

The file lies under a generated name. It is looked at and loaded by the same jobs in processes of their own
that the API uses; a load goes on beside the request, so that a long one shows how far it is, may be stopped,
and is not broken off by a lost line.
"""

import json
import logging
import os
import threading
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.import_job import ImportJob, JobAnswer
from api.import_runner import ImportRunner
from api.import_watch import ImportWatch
from api.waiting_room import WaitingRoom
from kb.errors import Conflict, KbError, NotFound

SHEET, STATE, REFUSED = ".sheet", ".json", ".refused"
WAIT_SECONDS = 2.5
LONGEST_SECONDS = 300.0
STOPPED = "It was stopped; nothing was written."
_KEPT = (
    "name",
    "said",
    "look",
    "look_error",
    "looked_by",
    "remembered",
    "preview",
    "batch",
    "result",
    "error",
)
_log = logging.getLogger("counterhand.imports")


@dataclass(slots=True)
class WaitingImport:
    """An uploaded sheet and what was decided about it so far.

    Attributes:
        name: the name it was sent under, only for showing and for its ending.
        said: the mapping as plain values.
        look: what was found in the file by what was said; None when it could not be looked at.
        look_error: why it could not.
        looked_by: what was said when it was looked at.
        remembered: the remembered columns that were taken for it, and which headings are gone and new.
        preview: report of the last dry run; None once something was decided anew.
        batch: the batch that it was loaded as.
        result: report of the loading.
        error: why the last run ended without a report.
    """

    token: str
    name: str
    said: dict[str, Any]
    look: dict[str, Any] | None = None
    look_error: str | None = None
    looked_by: dict[str, Any] | None = None
    remembered: dict[str, Any] | None = None
    preview: dict[str, Any] | None = None
    batch: str | None = None
    result: dict[str, Any] | None = None
    error: str | None = None

    @property
    def address(self) -> str:
        """Where its pages are."""
        return f"/imports/new/{self.token}"

    @property
    def headings(self) -> list[dict[str, Any]]:
        """Headings of the file in their order; none where it cannot be read yet."""
        return self.look["headings"] if self.look else []


class ImportDesk:
    """All sheets that wait, and the runs under way."""

    def __init__(self, runner: ImportRunner, room: WaitingRoom) -> None:
        self._runner = runner
        self.room = room
        self._runs: dict[str, ImportWatch] = {}
        self._lock = threading.Lock()

    def prepare(self) -> None:
        """A file is about to come."""
        self._runner.prepare()

    def add(self, name: str, write: Callable[[Path], None]) -> WaitingImport:
        """Keep an uploaded sheet, and look at it."""
        token, path = self.room.add(SHEET)
        write(path)
        waiting = WaitingImport(token, name, {})
        self.look(waiting)
        return waiting

    def read(self, token: str) -> WaitingImport:
        """A waiting sheet.

        Raises:
            NotFound: it was thrown away or is too old.
        """
        state = json.loads(self.room.get_path(token, STATE).read_text(encoding="utf-8"))
        return WaitingImport(token, **state)

    def save(self, waiting: WaitingImport) -> None:
        """Keep what was decided, in one step."""
        state = {name: getattr(waiting, name) for name in _KEPT}
        target = self.room.folder / f"{waiting.token}{STATE}"
        fresh = target.with_name(target.name + ".new")
        handle = os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            json.dump(state, file, default=str)
        os.replace(fresh, target)

    def look(self, waiting: WaitingImport) -> None:
        """Look at the file by what was said of it, and keep what was found."""
        path = str(self.room.get_path(waiting.token, SHEET))
        mapping = json.dumps(waiting.said) if waiting.said.get("kind") else None
        waiting.look, waiting.look_error = None, None
        try:
            form = None if mapping else waiting.said.get("form")
            job = ImportJob("inspect", path, waiting.name, mapping=mapping, form=form)
            answer = self._runner.run(job)
            waiting.look, waiting.look_error = answer.body, (answer.problem or {}).get("detail")
        except KbError as error:
            waiting.look_error = str(error)
        except Exception:
            _log.exception("Looking at %s failed", waiting.token)
            waiting.look_error = "The file could not be looked at; save it as CSV and choose it again."
        self._runner.prepare()  # for the preview
        if waiting.look and waiting.look["is_kind_clear"]:
            waiting.said.setdefault("kind", waiting.look["kind"])
        waiting.looked_by = deepcopy(waiting.said)
        self.save(waiting)

    def find_run(self, token: str) -> ImportWatch | None:
        """The run of a sheet that has not ended yet."""
        run = self._runs.get(token)
        return None if run is None or run.ended.is_set() else run

    def start(self, waiting: WaitingImport, *, dry_run: bool, keeps_good_rows: bool) -> ImportWatch:
        """Begin a run, or go on with the one under way; what is loaded is not loaded again.

        Returns soon, or when the run has ended.
        """
        with self._lock:
            run = self.find_run(waiting.token)
            if run is None and not dry_run and self.read(waiting.token).batch:
                return _END
            if run is None:
                run = self._runs[waiting.token] = ImportWatch()
                job = self._build_job(waiting, dry_run=dry_run, keeps_good_rows=keeps_good_rows)
                threading.Thread(target=self._run, args=(waiting, run, job), daemon=True).start()
        run.ended.wait(WAIT_SECONDS)
        return run

    def stop(self, token: str) -> None:
        """End the run of a sheet, and wait until it has."""
        run = self.find_run(token)
        if run is not None:
            run.stop(STOPPED)
            run.ended.wait(WAIT_SECONDS)

    def _build_job(self, waiting: WaitingImport, *, dry_run: bool, keeps_good_rows: bool) -> ImportJob:
        refused = self.room.folder / f"{waiting.token}{REFUSED}"
        refused.unlink(missing_ok=True)
        return ImportJob(
            "load",
            str(self.room.get_path(waiting.token, SHEET)),
            waiting.name,
            mapping=json.dumps(waiting.said),
            dry_run=dry_run,
            keep_good_rows=keeps_good_rows,
            refused_path=str(refused),
        )

    def _run(self, waiting: WaitingImport, run: ImportWatch, job: ImportJob) -> None:
        waiting.error = None
        try:
            _keep_answer(waiting, self._runner.run_in_turn(job, run, seconds=LONGEST_SECONDS))
        except KbError as error:
            waiting.error = str(error)
        except Exception:
            _log.exception("Import of %s failed", waiting.token)
            waiting.error = "Something went wrong inside; the log holds it. Nothing was written."
        try:
            self.save(waiting)
        finally:
            run.ended.set()
            self._runner.prepare()  # for the loading, or the next file

    def read_refused(self, token: str) -> str:
        """Refused rows of the last run as CSV.

        Raises:
            NotFound: nothing was refused, or it is too long ago.
        """
        return self.room.get_path(token, REFUSED).read_text(encoding="utf-8")

    def discard(self, token: str) -> None:
        """Throw a sheet away.

        Raises:
            Conflict: it is being loaded just now.
        """
        if self.find_run(token) is not None:
            raise Conflict("This file is being read just now; stop that first, or wait until it has ended.")
        self.room.remove(token)
        self._runs.pop(token, None)


_END = ImportWatch()
_END.ended.set()


def _keep_answer(waiting: WaitingImport, answer: JobAnswer) -> None:
    """What a run answered: a report, or a refusal with or without one."""
    problem = answer.problem or {}
    report = answer.body or problem.get("extra", {}).get("report")
    if report is None:
        waiting.error = problem.get("detail")
    elif report["dry_run"]:
        waiting.preview, waiting.result = report, None
    else:
        waiting.result, waiting.batch = report, report["batch"]


def check_token(desk: ImportDesk, token: str) -> WaitingImport:
    """The waiting sheet of a token that came in an address."""
    try:
        return desk.read(token)
    except (ValueError, TypeError) as error:
        raise NotFound("This uploaded file is not here any more; choose it again.") from error
