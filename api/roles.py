"""Which role every address asks for: one table, by the first words of the path.

A new room of the service gets a line here; a test fails for a route without one. Until then reading it asks
for ``read`` and changing it for ``admin``.
"""

from dataclasses import dataclass

from kb.terms import Role

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


@dataclass(frozen=True, slots=True)
class Opening:
    """What a path, and all below it, asks for. ``None`` asks for nothing: open to everybody."""

    path: str
    to_read: Role | None = Role.READ
    to_change: Role | None = Role.ADMIN


OPENINGS = (
    # What must answer before anybody could have signed in.
    Opening("/healthz", to_read=None),
    Opening("/static", to_read=None),
    Opening("/sign-in", to_read=None, to_change=None),
    Opening("/sign-out", to_read=None, to_change=None),
    # Looking up.
    Opening("/"),
    Opening("/metrics"),
    Opening("/api/openapi.json"),
    Opening("/api/fit"),
    Opening("/api/read"),
    Opening("/api/find"),
    Opening("/api/engines"),
    Opening("/api/parts"),
    Opening("/api/tell-apart"),
    Opening("/api/trace"),
    Opening("/api/sources"),
    Opening("/api/labels"),
    Opening("/engines"),
    Opening("/parts"),
    Opening("/find"),
    Opening("/words", to_change=Role.STOCK),
    Opening("/read"),
    Opening("/tell-apart"),
    Opening("/trace"),
    Opening("/gauge"),
    Opening("/rollers"),
    Opening("/card"),
    Opening("/api/job-sheets"),
    Opening("/bench"),
    Opening("/labels"),
    # Readings of worn parts are noted at the bench.
    Opening("/api/machines", to_change=Role.STOCK),
    Opening("/readings", to_change=Role.STOCK),
    # Pieces are for all to see; who books them, orders them or sees prices needs more.
    Opening("/api/stock", to_change=Role.STOCK),
    Opening("/api/locations", to_change=Role.STOCK),
    Opening("/api/orders", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/api/order-draft", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/api/suppliers", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/api/jobs", to_change=Role.STOCK),
    Opening("/stock", to_change=Role.STOCK),
    Opening("/count", to_change=Role.STOCK),
    Opening("/orders", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/suppliers", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/receive", to_read=Role.STOCK, to_change=Role.STOCK),
    Opening("/jobs", to_change=Role.STOCK),
    # What changes the catalogue, and what was uploaded for it.
    Opening("/api/imports", to_read=Role.ADMIN),
    Opening("/imports", to_read=Role.ADMIN),
)
UNDECLARED = Opening("")
_BY_PATH = {opening.path: opening for opening in OPENINGS}


def find_opening(path: str) -> Opening | None:
    """The line that a path falls under: its own, or that of the nearest path above it.

    Example:
        >>> find_opening("/api/stock/moves").path, find_opening("/api/stockings")
        ('/api/stock', None)
    """
    while path and path not in _BY_PATH:
        path = path.rpartition("/")[0]
    return _BY_PATH.get(path)


def find_needed_role(method: str, path: str) -> Role | None:
    """The role that a request asks for; None for what is open to everybody.

    Example:
        >>> find_needed_role("GET", "/api/stock/low"), find_needed_role("POST", "/api/stock/moves")
        (<Role.READ: 'read'>, <Role.STOCK: 'stock'>)
        >>> find_needed_role("GET", "/healthz"), find_needed_role("DELETE", "/no/such/room")
        (None, <Role.ADMIN: 'admin'>)
    """
    opening = find_opening(path) or UNDECLARED
    return opening.to_read if method in SAFE_METHODS else opening.to_change
