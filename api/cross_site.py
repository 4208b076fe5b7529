"""Refuses changes that another site's page asks a browser for.

A browser says where a request comes from (``Sec-Fetch-Site``, ``Origin``); programs send neither and are let
through. This holds on the loopback address as well: any page open in the browser can send requests there.

Source: published: OWASP Cross-Site Request Forgery Prevention, "Fetch Metadata" and "Verifying Origin".
"""

from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Receive, Scope, Send

from api.middleware import send_problem
from api.problems import Problem
from api.roles import SAFE_METHODS

_OWN_SITE = frozenset({"same-origin", "none"})


class CrossSiteCheck:
    """Passes on requests that read, and changes that no foreign page asked for."""

    def __init__(self, app: ASGIApp, hosts: Collection[str] = ()) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what a foreign page asked for."""
        if scope["type"] == "http" and scope["method"] not in SAFE_METHODS and self._is_foreign(scope):
            problem = Problem(
                "cross-site",
                "This change was asked for by a page of another site and was not made; "
                "use the service's own pages, or a program that sends no Origin.",
            )
            await send_problem(scope, send, problem)
            return
        await self.app(scope, receive, send)

    def _is_foreign(self, scope: Scope) -> bool:
        headers: dict[bytes, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name, []).append(value.decode("latin-1").strip().lower())
        if any(value not in _OWN_SITE for value in headers.get(b"sec-fetch-site", [])):
            return True
        hosts = headers.get(b"host", [])
        return any(not self._is_own(origin, hosts) for origin in headers.get(b"origin", []))

    def _is_own(self, origin: str, hosts: list[str]) -> bool:
        try:
            parts = urlsplit(origin)
            name = parts.hostname or ""
        except ValueError:
            return False
        # A proxy that speaks TLS may pass on another scheme and host; its public name is in the settings.
        return parts.scheme in ("http", "https") and (parts.netloc in hosts or name in self.hosts)
