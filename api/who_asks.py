"""The role of whoever asks, for what is written while the request is answered; the door notes it.

A page shows no form that its reader may not send. The door refuses what is sent all the same.
"""

from contextvars import ContextVar

from api.roles import find_needed_role
from kb.rules.access import is_allowed
from kb.terms import Role

_held: ContextVar[Role | None] = ContextVar("role_of_whoever_asks", default=None)


def note_role(role: Role | None) -> None:
    """Note the role for the request under way; None: nobody is known."""
    _held.set(role)


def get_held_role() -> Role | None:
    """The role of whoever asks."""
    return _held.get()


def find_missing_role(path: str) -> Role | None:
    """The role that a posting to the path needs and whoever asks has not; None where they may post."""
    needed, held = find_needed_role("POST", path), _held.get()
    return needed if needed is not None and (held is None or not is_allowed(held, needed)) else None
