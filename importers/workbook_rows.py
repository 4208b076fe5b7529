"""Rows of an XLSX or ODS workbook, read by a process of its own: what it does wrong cannot hurt this one."""

import marshal
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, Self

from importers.files import Limits, UnreadableFile

PARSE_SECONDS = 60.0
_ROOM = Path(__file__).parent.parent


class WorkbookRows:
    """An open workbook.

    Raises:
        UnreadableFile: refused before or while it was read, with what to do.
    """

    def __init__(
        self, path: Path, sheet: str | None, limits: Limits, *, seconds: float = PARSE_SECONDS
    ) -> None:
        self._limits = limits
        self.sheets: list[str] = []
        self.numbers: dict[int, int] = {}
        self._size = _check_size(path, limits)
        self._is_late = False
        self._rows_read = 0
        environment = os.environ | {
            "PYTHONPATH": os.pathsep.join([str(_ROOM), os.environ.get("PYTHONPATH", "")])
        }
        self._child = subprocess.Popen(  # noqa: S603 - our own interpreter and module
            [sys.executable, "-m", "importers.workbook_child", str(path), sheet or ""],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
            start_new_session=False,
        )
        self._alarm = threading.Timer(seconds, self._stop_late)
        self._alarm.daemon = True
        self._alarm.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._alarm.cancel()
        if self._child.poll() is None:
            self._child.kill()
        self._child.wait()
        if self._child.stdout is not None:
            self._child.stdout.close()

    @property
    def bytes_read(self) -> int:
        """How far the file has been read; the reader does not tell, so nothing until the end."""
        return self._size if self._child.poll() is not None else 0

    def _stop_late(self) -> None:
        self._is_late = True
        self._child.kill()

    def read_rows(self) -> Iterator[tuple[int, list[str]]]:
        """Row number and cells of every row that holds something."""
        stream = self._child.stdout
        assert stream is not None
        while True:
            frame = self._read_frame(stream)
            if frame[0] == "end":
                return
            if frame[0] == "refused":
                raise UnreadableFile(frame[1], line=1)
            if frame[0] == "sheets":
                self.sheets = frame[1]
            elif frame[0] == "numbers":
                self.numbers = frame[1]
            else:
                yield from self._check_rows(frame[1])

    def _check_rows(self, rows: list[tuple[int, list[str]]]) -> Iterator[tuple[int, list[str]]]:
        for line, cells in rows:
            if not any(cells):
                continue
            self._rows_read += 1
            if self._rows_read > self._limits.rows:
                raise UnreadableFile(
                    f"The sheet has more than {self._limits.rows} rows; split it.", line=line
                )
            if len(cells) > self._limits.columns and any(cells[self._limits.columns :]):
                raise UnreadableFile(
                    f"The sheet has {len(cells)} columns; at most {self._limits.columns} are read; "
                    "delete what stands to the right of the table.",
                    line=line,
                )
            yield line, cells

    def _read_frame(self, stream: IO[bytes]) -> tuple[Any, ...]:
        try:
            frame: tuple[Any, ...] = marshal.load(stream)  # noqa: S302 - written by our own process
        except (EOFError, ValueError, TypeError) as error:
            why = "takes too long to read" if self._is_late else "needs more memory than a price list"
            raise UnreadableFile(f"The workbook {why}; save the sheet as CSV.", line=1) from error
        return frame


def _check_size(path: Path, limits: Limits) -> int:
    try:
        size = path.stat().st_size
        with path.open("rb"):
            pass
    except OSError as error:
        raise UnreadableFile(
            f"The file cannot be opened: {error.strerror}; close it elsewhere and check its rights.", line=1
        ) from error
    if size > limits.file_bytes:
        raise UnreadableFile(
            f"The file has {size} bytes; at most {limits.file_bytes} are read; split it.", line=1
        )
    return size
