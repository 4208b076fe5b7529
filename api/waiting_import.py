"""A sheet that was uploaded and waits: its name, what was said of its columns, its preview, its progress.

The file lies under a generated name. Reading and loading run beside the request, so that a long one shows how
far it is and a lost line does not break it off.
"""

import json
import logging
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from api.import_job import UPLOAD_LIMITS
from api.waiting_room import WaitingRoom
from importers.mapping import Mapping, build_mapping
from importers.report import ImportReport
from importers.run import ImportOptions, Progress
from importers.sheet_file import SheetFile, format_refused, load_file
from kb.database import open_writer
from kb.errors import Conflict, KbError, NotFound

SHEET, STATE, REFUSED = ".sheet", ".json", ".refused"
SHOWN_CHANGES = 100
WAIT_SECONDS = 1.5
_log = logging.getLogger("counterhand.imports")


@dataclass(slots=True)
class WaitingImport:
    """An uploaded sheet and what was decided about it so far.

    Attributes:
        name: the name it was sent under, only for showing and for its ending.
        said: the mapping as plain values.
        preview: report of the last dry run; None once something was decided anew.
        batch: the batch that it was loaded as.
        result: report of the loading.
        error: why the last run ended without a report.
    """

    token: str
    name: str
    said: dict[str, Any]
    preview: dict[str, Any] | None = None
    batch: str | None = None
    result: dict[str, Any] | None = None
    error: str | None = None

    @property
    def address(self) -> str:
        """Where its pages are."""
        return f"/imports/new/{self.token}"

    def build_mapping(self) -> Mapping:
        """What the columns mean; raises BadInput where what was said is not accepted."""
        return build_mapping(self.said)


@dataclass(slots=True)
class Job:
    """A run under way: bytes read of how many, and whether it has ended."""

    done: int = 0
    total: int = 0
    ended: threading.Event = field(default_factory=threading.Event)

    @property
    def percent(self) -> int:
        """How far it is."""
        return min(100 * self.done // self.total, 100) if self.total else 0


class ImportDesk:
    """All sheets that wait, and the runs under way."""

    def __init__(self, engine: Engine, room: WaitingRoom) -> None:
        self._engine = engine
        self.room = room
        self._jobs: dict[str, Job] = {}
        self._lock = threading.Lock()

    def add(self, name: str, write: Callable[[Path], None]) -> WaitingImport:
        """Keep an uploaded sheet."""
        token, path = self.room.add(SHEET)
        write(path)
        waiting = WaitingImport(token, name, {})
        self.save(waiting)
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
        state = {
            name: getattr(waiting, name) for name in ("name", "said", "preview", "batch", "result", "error")
        }
        self._replace(waiting.token, STATE, json.dumps(state, default=str))

    def _replace(self, token: str, suffix: str, text: str) -> None:
        target = self.room.folder / f"{token}{suffix}"
        fresh = target.with_name(target.name + ".new")
        handle = os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        os.replace(fresh, target)

    def build_file(self, waiting: WaitingImport, mapping: Mapping) -> SheetFile:
        """The waiting sheet as the importers take it."""
        return SheetFile(self.room.get_path(waiting.token, SHEET), waiting.name, mapping, UPLOAD_LIMITS)

    def find_job(self, token: str) -> Job | None:
        """The run of a sheet that has not ended yet."""
        job = self._jobs.get(token)
        return None if job is None or job.ended.is_set() else job

    def start(self, waiting: WaitingImport, *, dry_run: bool, keeps_good_rows: bool) -> Job:
        """Begin a run, or go on with the one under way; what is loaded is not loaded again.

        Returns soon, or when the run has ended.
        """
        with self._lock:
            job = self.find_job(waiting.token)
            if job is None and not dry_run and self.read(waiting.token).batch:
                return _END
            if job is None:
                job = self._jobs[waiting.token] = Job()
                options = ImportOptions(
                    dry_run=dry_run,
                    progress=_note_progress(job),
                    limits=UPLOAD_LIMITS,
                    keeps_good_rows=keeps_good_rows,
                    shown_changes=SHOWN_CHANGES,
                )
                threading.Thread(target=self._run, args=(waiting, job, options), daemon=True).start()
        job.ended.wait(WAIT_SECONDS)
        return job

    def _run(self, waiting: WaitingImport, job: Job, options: ImportOptions) -> None:
        waiting.error = None
        try:
            file = self.build_file(waiting, waiting.build_mapping())
            with open_writer(self._engine) as session:
                report = load_file(session, file, now=datetime.now(UTC), options=options)
            self._keep_report(waiting, file, report)
        except KbError as error:
            waiting.error = str(error)
        except Exception:
            _log.exception("Import of %s failed", waiting.token)
            waiting.error = "Something went wrong inside; the log holds it. Nothing was written."
        try:
            self.save(waiting)
        finally:
            job.ended.set()

    def _keep_report(self, waiting: WaitingImport, file: SheetFile, report: ImportReport) -> None:
        shaped = report.as_json()
        if report.dry_run:
            waiting.preview = shaped
        else:
            waiting.result, waiting.batch = shaped, report.batch
        if report.files[0].refused_lines:
            self._replace(waiting.token, REFUSED, format_refused(file, report.files[0]))
        else:
            (self.room.folder / f"{waiting.token}{REFUSED}").unlink(missing_ok=True)

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
        if self.find_job(token) is not None:
            raise Conflict("This file is being read just now; wait until that has ended.")
        self.room.remove(token)
        self._jobs.pop(token, None)


_END = Job()
_END.ended.set()


def _note_progress(job: Job) -> Progress:
    def note(done: int, total: int) -> None:
        job.done, job.total = done, total

    return note


def check_token(desk: ImportDesk, token: str) -> WaitingImport:
    """The waiting sheet of a token that came in an address."""
    try:
        return desk.read(token)
    except (ValueError, TypeError) as error:
        raise NotFound("This uploaded file is not here any more; choose it again.") from error
