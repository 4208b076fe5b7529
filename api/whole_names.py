"""Routes to things whose code may hold slashes: ``%2F`` in an address is a slash of the code.

Decoded, as the server hands it on, a slash within a code looks like one between two words of the address. So
these routes look at the address as it was sent.
"""

from typing import Any
from urllib.parse import unquote

from fastapi.routing import APIRoute
from starlette.routing import Match
from starlette.types import Scope

# Stands for a slash while the address is matched; no code holds it, because no import takes it.
_HELD = "\ue000"


class WholeNameRoute(APIRoute):
    """A route with codes in its address."""

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Whether the address is this route's, and the codes in it with their slashes."""
        held = hold_slashes(scope.get("raw_path") or b"")
        match, found = super().matches({**scope, "path": held} if held else scope)
        names: dict[str, Any] = found.get("path_params", {})
        if "" in names.values():
            return Match.NONE, {}
        for name, value in names.items():
            names[name] = value.replace(_HELD, "/")
        return match, found


def hold_slashes(sent: bytes) -> str:
    """The address as sent, decoded but for slashes within words; empty where there are none.

    Example:
        >>> hold_slashes(b"/engines/a%2Fb/card?x=%2F").split("/")[-2:], hold_slashes(b"/engines/a")
        (['a\\ue000b', 'card'], '')
    """
    path = sent.partition(b"?")[0].decode("ascii", "replace")
    words = [unquote(word).replace("/", _HELD) for word in path.split("/")]
    held = "/".join(words)
    return held if _HELD in held else ""
