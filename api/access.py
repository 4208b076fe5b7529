"""Who asks, and whether they may: keys of programs, sign-ins of people, the role that an address needs.

On the loopback address everything is open until the first key is given out. From then on, and always on
other addresses, every request shows a key (``Authorization: Bearer``) or the cookie of a sign-in.
"""

import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote

from sqlalchemy import Engine
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.middleware import send_problem
from api.problems import Problem, describe_error
from api.roles import find_needed_role
from api.throttle import Throttle
from api.who_asks import note_role
from kb.database import open_reader, open_writer
from kb.edits.access import note_use
from kb.errors import KbError
from kb.lookups.access import Caller, find_key_holder, find_signed_in, has_keys
from kb.migrate import find_schema_version
from kb.rules.access import is_allowed
from kb.terms import Role

LOOKED_AGAIN_SECONDS = 1.0
NOTED_AGAIN = timedelta(minutes=15)
LONGEST_SECRET = 200


@dataclass(frozen=True, slots=True)
class Shown:
    """What a request shows for itself."""

    key: str | None
    cookie: str | None
    address: str


def name_cookie(scope: Scope) -> str:
    """Name of the sign-in cookie; under TLS with the prefix that browsers bind to this host."""
    return "__Host-counterhand" if scope.get("scheme") == "https" else "counterhand"


def read_shown(scope: Scope) -> Shown:
    """Key, cookie and address of a request."""
    headers = Headers(scope=scope)
    scheme, _, key = headers.get("authorization", "").partition(" ")
    cookies: SimpleCookie = SimpleCookie()
    try:
        cookies.load(headers.get("cookie", "")[:4096])
    except CookieError:
        cookies.clear()
    cookie = cookies.get(name_cookie(scope))
    client = scope.get("client")
    return Shown(
        key=key.strip()[:LONGEST_SECRET] if scheme.lower() == "bearer" else None,
        cookie=cookie.value[:LONGEST_SECRET] if cookie else None,
        address=client[0] if client else "",
    )


class AccessControl:
    """Lets through whoever holds the role that an address needs; ``state.role`` then says which they hold."""

    def __init__(self, app: ASGIApp, engine: Engine, throttle: Throttle, *, always: bool) -> None:
        self.app = app
        self.engine = engine
        self.throttle = throttle
        self.always = always
        self._is_guarded = always
        self._looked_at = float("-inf")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 401, 403 or 429."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        state.update(role=None, caller="")
        note_role(None)
        needed = find_needed_role(scope["method"], scope["path"])
        if needed is not None:
            try:
                problem = await self._judge(scope, needed)
            except KbError as error:
                problem = describe_error(error)
            if problem is not None:
                await self._refuse(scope, send, problem)
                return
            note_role(state["role"])
        await self.app(scope, receive, send)

    async def _judge(self, scope: Scope, needed: Role) -> Problem | None:
        state: dict[str, Any] = scope["state"]
        if not await self._needs_key():
            state["role"] = Role.ADMIN
            return None
        shown = read_shown(scope)
        wait_seconds = self.throttle.count_wait_seconds(shown.address, time.monotonic()) if shown.key else 0.0
        if wait_seconds:
            return explain_wait(wait_seconds)
        caller = await run_in_threadpool(self._find_caller, shown) if shown.key or shown.cookie else None
        if shown.key and caller is None:
            self.throttle.note_failure(shown.address, time.monotonic())
        if caller is None:
            return Problem(
                "no-key",
                "This needs an access key; send 'Authorization: Bearer KEY', or sign in at /sign-in.",
                headers={"WWW-Authenticate": "Bearer"},
            )
        if not is_allowed(caller.role, needed):
            return Problem(
                "not-allowed",
                f"This needs a key of the role '{needed}', and '{caller.name}' has the role '{caller.role}'.",
            )
        state.update(role=caller.role, caller=caller.name)
        return None

    async def _needs_key(self) -> bool:
        """Whether a key must be shown; looked up again every second, so that a first key closes the door."""
        if self.always or time.monotonic() - self._looked_at < LOOKED_AGAIN_SECONDS:
            return self._is_guarded
        self._is_guarded = await run_in_threadpool(self._has_keys)
        self._looked_at = time.monotonic()
        return self._is_guarded

    def _has_keys(self) -> bool:
        if find_schema_version(self.engine) is None:  # no tables yet, so nothing to keep closed
            return False
        with open_reader(self.engine) as session:
            return has_keys(session)

    def _find_caller(self, shown: Shown) -> Caller | None:
        now = datetime.now(UTC)
        with open_reader(self.engine) as session:
            if shown.key:
                caller = find_key_holder(session, shown.key, now=now)
            else:
                caller = find_signed_in(session, shown.cookie or "", now=now)
        if caller is not None and self._is_worth_noting(caller, now):
            self._note(caller, now)
        return caller

    @staticmethod
    def _is_worth_noting(caller: Caller, now: datetime) -> bool:
        return caller.last_used_at_utc is None or now - caller.last_used_at_utc >= NOTED_AGAIN

    def _note(self, caller: Caller, now: datetime) -> None:
        try:
            with open_writer(self.engine) as session:
                note_use(session, key_id=caller.key_id, sign_in_id=caller.sign_in_id, now=now)
        except KbError:  # a busy or read-only database is no reason to refuse a reader
            return

    @staticmethod
    async def _refuse(scope: Scope, send: Send, problem: Problem) -> None:
        headers = Headers(scope=scope)
        is_page = "text/html" in headers.get("accept", "") and not scope["path"].startswith("/api")
        if problem.slug == "no-key" and is_page and scope["method"] == "GET":
            query = "?" + scope["query_string"].decode("latin-1") if scope["query_string"] else ""
            place = "/sign-in?next=" + quote(quote(scope["path"]) + query, safe="")
            await send(
                {
                    "type": "http.response.start",
                    "status": 303,
                    "headers": [(b"location", place.encode()), (b"content-length", b"0")],
                }
            )
            await send({"type": "http.response.body", "body": b""})
            return
        await send_problem(scope, send, problem)


def explain_wait(wait_seconds: float) -> Problem:
    """The answer to an address that showed too many wrong keys."""
    seconds = int(wait_seconds) + 1
    return Problem(
        "too-many-requests",
        f"Too many wrong keys came from this address; try again in {seconds} s.",
        headers={"Retry-After": str(seconds)},
    )
