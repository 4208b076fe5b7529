"""Files that wait on the server between two pages: a count under way, a sheet that is being mapped.

A file never carries the name under which it was sent: it gets a random one, in a folder that only this user
may open, and is thrown away when nobody has touched it for a while.
"""

import os
import re
import secrets
import shutil
import tempfile
import time
import weakref
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from kb.errors import NotFound

_TOKEN = re.compile(r"[A-Za-z0-9_-]{22}")


class WaitingRoom:
    """One folder of waiting files.

    Args:
        folder: where files wait; made for this user only. None: a folder for this run only.
        keep_seconds: how long a file stays that nobody touches.
        what: what is kept, for messages.
    """

    def __init__(self, folder: Path | None, *, keep_seconds: float, what: str) -> None:
        self._folder = folder
        self._keep_seconds = keep_seconds
        self._what = what

    @property
    def folder(self) -> Path:
        """The folder, made when it is first needed."""
        if self._folder is None:
            self._folder = Path(tempfile.mkdtemp(prefix="counterhand-"))
            weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return self._folder

    def add(self, suffix: str) -> tuple[str, Path]:
        """A new, empty file for this user only: its token and its path."""
        self.sweep()
        token = secrets.token_urlsafe(16)
        path = self.folder / f"{token}{suffix}"
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        return token, path

    def get_path(self, token: str, suffix: str) -> Path:
        """The waiting file of a token.

        Raises:
            NotFound: there is none (any more).
        """
        path = self.folder / f"{token}{suffix}"
        if not _TOKEN.fullmatch(token) or not path.is_file() or self._is_old(path):
            raise NotFound(
                f"This {self._what} is not here any more; it was finished or is too old. Start again."
            )
        return path

    def remove(self, token: str) -> None:
        """Throw away all that waits under a token."""
        if _TOKEN.fullmatch(token):
            for path in self.folder.glob(f"{token}*"):
                path.unlink(missing_ok=True)

    def list_tokens(self, suffix: str) -> Iterator[tuple[str, Path]]:
        """Waiting files with this suffix, the one touched last first."""
        files = [path for path in self.folder.glob(f"*{suffix}") if not self._is_old(path)]
        for path in sorted(files, key=_find_touched, reverse=True):
            yield path.name.removesuffix(suffix), path

    def sweep(self) -> None:
        """Throw away what nobody touched for too long."""
        for path in self.folder.iterdir():
            if self._is_old(path):
                with suppress(OSError):
                    path.unlink()

    def _is_old(self, path: Path) -> bool:
        return time.time() - _find_touched(path) > self._keep_seconds


def _find_touched(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:  # thrown away by another request
        return 0.0
