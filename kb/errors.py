"""The error tree. A class says which kind of thing went wrong, the message says which value.

::

    KbError
    ├── BadNotation   a written size or code could not be read (also a ValueError)
    ├── BadInput      a value or a file cannot be accepted (also a ValueError)
    ├── NotFound      something asked for by name is not in the catalogue
    ├── Conflict      the change contradicts what is stored
    └── Unavailable   the database cannot be used now

Messages are whole sentences: thing, value in quotes, what is wrong; what is accepted; what to do.
Nothing here knows about HTTP or exit statuses.
"""

from collections.abc import Mapping, Sequence


class KbError(Exception):
    """Anything that the program can explain to a person."""


class BadNotation(KbError, ValueError):
    """A written size or code that cannot be read.

    Args:
        message: the sentence for the person.
        reason: one word of the closed list ``kb.terms.Refusal``.
    """

    def __init__(self, message: str, *, reason: str) -> None:
        super().__init__(message)
        self.reason = reason


class BadInput(KbError, ValueError):
    """A value that cannot be accepted, with the name of the field where it stood (or None)."""

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.field = field


class NotFound(KbError):
    """Something asked for by name that is not stored, with the nearest names that are."""

    def __init__(self, message: str, *, nearest: Sequence[str] = ()) -> None:
        super().__init__(message)
        self.nearest = tuple(nearest)


class Conflict(KbError):
    """A change that contradicts what is stored, with the figures against it; nothing was changed."""

    def __init__(self, message: str, *, figures: Mapping[str, int] | None = None) -> None:
        super().__init__(message)
        self.figures = dict(figures or {})


class Unavailable(KbError):
    """The database is missing, locked, damaged or of another version."""
