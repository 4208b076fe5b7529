"""An import under way as others see it: how far it is, how fast, how long yet; and a way to stop it."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from kb.errors import BadInput

# The first rows say little about the rest.
_TOLD_AFTER_SECONDS = 1.0
_TOLD_AFTER_PERCENT = 5


class Stopped(BadInput):
    """The import was stopped before its end; nothing was written."""


@dataclass(slots=True)
class ImportWatch:
    """How far an import is.

    Attributes:
        done: bytes read.
        total: bytes in all; 0 before the first are read.
        rows: rows read.
        began_at: when its turn came, by the monotonic clock; None while it waits for another import.
        ended: set when it has ended, one way or the other.
        stopped: why it is to stop.
    """

    done: int = 0
    total: int = 0
    rows: int = 0
    began_at: float | None = None
    ended: threading.Event = field(default_factory=threading.Event)
    stopped: str | None = None
    _end: Callable[[], None] | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self) -> None:
        """Its turn has come."""
        self.began_at = time.monotonic()

    def note(self, done: int, total: int, rows: int) -> None:
        """Keep how far it is.

        Raises:
            Stopped: it is to stop.
        """
        self.done, self.total, self.rows = done, total, rows
        self.check()

    def check(self) -> None:
        """Go on only when it is not to stop.

        Raises:
            Stopped: it is to stop.
        """
        if self.stopped is not None:
            raise Stopped(self.stopped, field="file")

    def hold(self, end: Callable[[], None]) -> None:
        """Keep what ends it; done at once when it is to stop already."""
        with self._lock:
            self._end = end
            is_stopped = self.stopped is not None
        if is_stopped:
            end()

    def stop(self, why: str) -> None:
        """End it; the first reason stands."""
        with self._lock:
            self.stopped = self.stopped or why
            end = self._end
        if end is not None:
            end()

    @property
    def percent(self) -> int:
        """How far it is."""
        return min(100 * self.done // self.total, 100) if self.total else 0

    @property
    def is_waiting(self) -> bool:
        """Whether another import goes first."""
        return self.began_at is None

    @property
    def rows_per_second(self) -> int | None:
        """Rows read in a second; None before that can be told."""
        return round(self.rows / self._count_seconds()) if self._can_be_told else None

    @property
    def seconds_left(self) -> int | None:
        """How long reading will yet take at this rate; None before that can be told."""
        left = self.total - self.done
        return round(self._count_seconds() * left / self.done) if self._can_be_told else None

    @property
    def _can_be_told(self) -> bool:
        return self.percent >= _TOLD_AFTER_PERCENT and self._count_seconds() >= _TOLD_AFTER_SECONDS

    def _count_seconds(self) -> float:
        return 0.0 if self.began_at is None else time.monotonic() - self.began_at
