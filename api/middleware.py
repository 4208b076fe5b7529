"""What every request passes, from the outside in: shell, host check, body limit, HEAD, entity tags.

Written as plain ASGI, because the answers to errors need the same headers as all others.

Source: the headers follow published advice on HTTP security headers (OWASP); the host check guards a
service on the loopback address against DNS rebinding; sizes are judgement of this project.
"""

import hashlib
import logging
import secrets
from collections.abc import Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.problems import MEDIA_TYPE, Problem, build_body, build_inside_problem

MAX_BODY_BYTES = 25 * 1024 * 1024
LOOPBACK_HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]"})
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
)
SECURITY_HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Under no-referrer browsers name no origin with forms, and the check of the origin would refuse our own.
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    # Nearly every answer shows stock or prices; programs may still compare entity tags.
    "Cache-Control": "no-store",
}
STRICT_TRANSPORT = "max-age=31536000"

_log = logging.getLogger("counterhand.web")


async def send_problem(scope: Scope, send: Send, problem: Problem) -> None:
    """Send a problem from outside the application."""
    body = build_body(
        problem, instance=scope.get("path", ""), request_id=scope.get("state", {}).get("request_id", "")
    )
    headers = [(b"content-type", MEDIA_TYPE.encode()), (b"content-length", str(len(body)).encode())]
    headers += [(name.lower().encode(), value.encode()) for name, value in problem.headers.items()]
    await send({"type": "http.response.start", "status": problem.code, "headers": headers})
    await send({"type": "http.response.body", "body": body if scope["method"] != "HEAD" else b""})


class RequestShell:
    """Request id, security headers on every answer, and the answer to errors that nobody foresaw."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Add id and headers, and answer what nobody foresaw."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request_id = secrets.token_hex(8)
        scope.setdefault("state", {})["request_id"] = request_id
        has_started = False

        async def send_with_headers(message: Message) -> None:
            nonlocal has_started
            if message["type"] == "http.response.start":
                has_started = True
                self._add_headers(MutableHeaders(scope=message), scope, request_id)
            await send(message)

        try:
            await self.app(scope, receive, send_with_headers)
        except Exception:
            _log.exception("Request %s failed: %s %r", request_id, scope["method"], scope["path"])
            if has_started:
                raise
            await send_problem(scope, send_with_headers, build_inside_problem(request_id))

    @staticmethod
    def _add_headers(headers: MutableHeaders, scope: Scope, request_id: str) -> None:
        headers["X-Request-ID"] = request_id
        if scope["path"].startswith("/static/"):
            headers.setdefault("Cache-Control", "no-cache")  # kept, and asked for again by entity tag
        for name, value in SECURITY_HEADERS.items():
            headers.setdefault(name, value)
        if scope.get("scheme") == "https":
            headers["Strict-Transport-Security"] = STRICT_TRANSPORT


class HostCheck:
    """Refuses requests that name a host which this service does not go by."""

    def __init__(self, app: ASGIApp, hosts: Collection[str]) -> None:
        self.app = app
        self.hosts = LOOPBACK_HOSTS | {host.lower() for host in hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on requests for a known host."""
        if scope["type"] == "http" and not self._is_known(scope):
            problem = Problem(
                "bad-host",
                "The host name of this request is not one that this service goes by; "
                "use the address it printed at start, or allow the name in the settings.",
            )
            await send_problem(scope, send, problem)
            return
        await self.app(scope, receive, send)

    def _is_known(self, scope: Scope) -> bool:
        named = [value for name, value in scope["headers"] if name == b"host"]
        if len(named) != 1:
            return False
        host = named[0].decode("latin-1").lower()
        name, colon, port = host.rpartition(":")
        if colon and port.isdigit() and not (name.startswith("[") and not name.endswith("]")):
            host = name
        return host in self.hosts


class BodyLimit:
    """Refuses request bodies above a size, whether their length is declared or they come in chunks."""

    def __init__(self, app: ASGIApp, max_bytes: int) -> None:
        self.app = app
        self.max_bytes = max_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on bodies up to the limit."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        declared = Headers(scope=scope).get("content-length", "")
        if declared.isdigit() and int(declared) > self.max_bytes:
            await send_problem(scope, send, Problem("body-too-large", self._explain()))
            return
        received = 0

        async def receive_counted() -> Message:
            nonlocal received
            message = await receive()
            received += len(message.get("body", b""))
            if received > self.max_bytes:
                raise HTTPException(413, self._explain())
            return message

        await self.app(scope, receive_counted, send)

    def _explain(self) -> str:
        return f"The request body is larger than {self.max_bytes / 1024 / 1024:g} MB; send a smaller one."


class HeadAnswers:
    """Answers HEAD wherever GET is answered: the same status and headers, and no body (RFC 9110, 9.3.2)."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Ask as GET what is asked as HEAD, and leave the body out."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def send_without_body(message: Message) -> None:
            await send({**message, "body": b""} if message["type"] == "http.response.body" else message)

        asked = {**scope, "method": "GET"}  # a copy: the server looks at its own to know that no body follows
        await self.app(asked, receive, send_without_body)
        scope["route"] = asked.get("route")  # for whoever counts answers by route


class EntityTags:
    """Gives reads an ``ETag`` and answers 304 to whoever has that version already."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Tag whole answers to reads."""
        if scope["type"] != "http" or scope["method"] != "GET":
            await self.app(scope, receive, send)
            return
        start: Message | None = None
        body = bytearray()

        async def send_tagged(message: Message) -> None:
            nonlocal start
            if message["type"] == "http.response.start" and self._is_tagged_here(message):
                start = message
                return
            if start is None or message["type"] != "http.response.body":
                await send(message)
                return
            body.extend(message.get("body", b""))
            if not message.get("more_body"):
                await self._send_whole(scope, send, start, bytes(body))

        await self.app(scope, receive, send_tagged)

    @staticmethod
    def _is_tagged_here(start: Message) -> bool:
        headers = Headers(raw=start["headers"])
        is_whole = "content-length" in headers  # what is streamed may be large and is left alone
        return start["status"] == 200 and is_whole and "etag" not in headers

    @staticmethod
    async def _send_whole(scope: Scope, send: Send, start: Message, body: bytes) -> None:
        etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
        headers = MutableHeaders(raw=list(start["headers"]))
        headers["ETag"] = etag
        if has_tag(Headers(scope=scope).get("if-none-match", ""), etag):
            del headers["content-length"]
            await send({"type": "http.response.start", "status": 304, "headers": headers.raw})
            await send({"type": "http.response.body", "body": b""})
            return
        await send({**start, "headers": headers.raw})
        await send({"type": "http.response.body", "body": body})


def has_tag(if_none_match: str, etag: str) -> bool:
    """Whether a list of entity tags names this one; weak and strong compare alike, as RFC 9110 asks for GET.

    Example:
        >>> has_tag('"a", W/"b"', '"b"'), has_tag("*", '"b"'), has_tag("", '"b"')
        (True, True, False)
    """
    tags = {tag.strip().removeprefix("W/") for tag in if_none_match.split(",")}
    return "*" in tags or etag in tags
