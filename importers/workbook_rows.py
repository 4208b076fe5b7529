"""Rows of an XLSX or ODS workbook, read by a process of its own: what it does wrong cannot hurt this one."""

import marshal
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, Self

from importers.limits import Limits, UnreadableFile
from importers.row_groups import ColumnGroup, RawRow, RowGroup, list_rows
from importers.workbook_child import CELL_END, LENGTH_BYTES

PARSE_SECONDS = 60.0
PIPE_BYTES = 1 << 20  # a frame or two, so that the reader goes on while these rows are written
_READER = "import sys; from importers.workbook_child import main; sys.exit(main(sys.argv[1:]))"
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
        self._rows_read = self._height = 0
        # The reader finds modules where this process does, and so needs not look for them as a new one does.
        environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(_ROOM), *filter(None, sys.path)])}
        self._child = subprocess.Popen(  # noqa: S603 - our own interpreter and reader
            [sys.executable, "-S", "-P", "-c", _READER, str(path), sheet or ""],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
            pipesize=PIPE_BYTES,
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
        """How far the file has been read: its share of rows, since the reader reads it whole first."""
        return self._size * self._rows_read // max(self._height, self._rows_read, 1)

    def _stop_late(self) -> None:
        self._is_late = True
        self._child.kill()

    def read_rows(self) -> Iterator[RawRow]:
        """Row number and cells of every row that holds something."""
        for group in self.read_groups():
            yield from list_rows(group)

    def read_groups(self) -> Iterator[RowGroup]:
        """The same rows, many at a time, column by column."""
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
            elif frame[0] == "height":
                self._height = frame[1]
            elif frame[0] == "numbers":
                self.numbers = frame[1]
            else:
                columns = [texts.split(CELL_END) if type(texts) is str else texts for texts in frame[2]]
                yield self._check_group(ColumnGroup(frame[1], columns))

    def _check_group(self, group: ColumnGroup) -> ColumnGroup:
        left, most = self._limits.rows - self._rows_read, self._limits.columns
        self._rows_read += len(group.lines)
        if self._rows_read > self._limits.rows:
            raise UnreadableFile(
                f"The sheet has more than {self._limits.rows} rows; split it.", line=group.lines[left]
            )
        for cells in group.columns[most:]:
            for line, text in zip(group.lines, cells, strict=True):
                if text:
                    raise UnreadableFile(
                        f"The sheet has {len(group.columns)} columns; at most {most} are read; "
                        "delete what stands to the right of the table.",
                        line=line,
                    )
        return ColumnGroup(group.lines, group.columns[:most])

    def _read_frame(self, stream: IO[bytes]) -> tuple[Any, ...]:
        try:
            size = int.from_bytes(stream.read(LENGTH_BYTES), "big")
            frame: tuple[Any, ...] = marshal.loads(stream.read(size))  # noqa: S302 - of our own process
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
