"""The HTTP server that ``counterhand serve`` runs: uvicorn, hardened against slow clients and rough stops.

uvicorn waits for ever for the rest of a half-sent request, and for a reader that stops. Here both end.

Source: the spans are a judgement of this project. That the server's usual settings leave half-sent requests
open was measured with version 0.54.
"""

import asyncio
import json
import signal
import socket
from collections.abc import Callable
from types import FrameType
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from api.middleware import SECURITY_HEADERS
from api.problems import MEDIA_TYPE, TYPE_PREFIX

RECEIVE_SECONDS = 8.0
LONGEST_RECEIVE_SECONDS = 30.0
BYTES_PER_SECOND = 64 * 1024
STALL_SECONDS = 60.0
STOP_SECONDS = 8


def count_allowed_seconds(received_bytes: int) -> float:
    """How long a request may take to arrive: 8 s, and longer for an upload that keeps coming, up to 30 s.

    Example:
        >>> count_allowed_seconds(0), count_allowed_seconds(10 * 64 * 1024), count_allowed_seconds(10**9)
        (8.0, 18.0, 30.0)
    """
    return min(RECEIVE_SECONDS + received_bytes / BYTES_PER_SECOND, LONGEST_RECEIVE_SECONDS)


class ImpatientProtocol(H11Protocol):
    """HTTP that closes lines on which a request does not arrive, or an answer is not taken, in time."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._receive_timer: asyncio.TimerHandle | None = None
        self._stall_timer: asyncio.TimerHandle | None = None
        self._started_at = 0.0
        self._received_bytes = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the clock: a line that says nothing is closed as well."""
        super().connection_made(transport)
        self._start_clock()

    def data_received(self, data: bytes) -> None:
        """Take bytes, and stop the clock when the request is whole."""
        if self._receive_timer is None and self.conn.their_state in (h11.IDLE, h11.SEND_BODY):
            self._start_clock()
        self._received_bytes += len(data)
        super().data_received(data)
        if self.conn.their_state not in (h11.IDLE, h11.SEND_BODY):
            self._stop_clock()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the clocks."""
        self._stop_clock()
        self._stop_stall()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """The reader is behind; it gets a minute to take something."""
        super().pause_writing()
        self._stop_stall()
        self._stall_timer = self.loop.call_later(STALL_SECONDS, self._drop)

    def resume_writing(self) -> None:
        """The reader caught up."""
        self._stop_stall()
        super().resume_writing()

    def send_400_response(self, msg: str) -> None:
        """Answer what is no HTTP, in the shape and with the headers of every other error."""
        body = json.dumps(
            {
                "type": TYPE_PREFIX + "bad-request",
                "title": "The request is malformed",
                "status": 400,
                "detail": "The request is not HTTP as this service reads it.",
                "instance": "",
            }
        ).encode()
        headers = [(name.lower().encode(), value.encode()) for name, value in SECURITY_HEADERS.items()]
        headers += [
            (b"content-type", MEDIA_TYPE.encode()),
            (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"),
        ]
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            for event in (
                h11.Response(status_code=400, headers=headers, reason=b"Bad Request"),
                h11.Data(data=body),
                h11.EndOfMessage(),
            ):
                self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def _start_clock(self) -> None:
        self._started_at, self._received_bytes = self.loop.time(), 0
        self._receive_timer = self.loop.call_later(RECEIVE_SECONDS, self._look_at_clock)

    def _stop_clock(self) -> None:
        if self._receive_timer is not None:
            self._receive_timer.cancel()
            self._receive_timer = None

    def _stop_stall(self) -> None:
        if self._stall_timer is not None:
            self._stall_timer.cancel()
            self._stall_timer = None

    def _look_at_clock(self) -> None:
        left = self._started_at + count_allowed_seconds(self._received_bytes) - self.loop.time()
        if self.flow.read_paused:  # we are the ones who are slow
            left = max(left, 1.0)
        if left > 0:
            self._receive_timer = self.loop.call_later(left, self._look_at_clock)
        else:
            self._drop()

    def _drop(self) -> None:
        self._stop_clock()
        self._stop_stall()
        if not self.transport.is_closing():
            self.transport.abort()


class Server(uvicorn.Server):
    """Says when it is up; stops gently on the first signal and at once on the second."""

    def __init__(
        self, config: uvicorn.Config, *, on_start: Callable[[], None], on_stop: Callable[[], None]
    ) -> None:
        super().__init__(config)
        self._on_start = on_start
        self._on_stop = on_stop

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then say so."""
        await super().startup(sockets=sockets)
        self._on_start()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Finish the work under way, then close the database, so that its log is folded in."""
        await super().shutdown(sockets=sockets)
        self._on_stop()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop gently; on a second signal die by it: what was not committed is undone by the database."""
        if self.should_exit:
            signal.signal(sig, signal.SIG_DFL)
            signal.raise_signal(sig)
        super().handle_exit(sig, frame)


def build_config(
    app: Any, *, proxy: str | None = None, certificate: tuple[str, str] | None = None
) -> uvicorn.Config:
    """Settings of the server.

    Args:
        app: the application.
        proxy: address of the one proxy whose word on scheme and client address is taken.
        certificate: files with the TLS certificate chain and its key.
    """
    return uvicorn.Config(
        app,
        http=ImpatientProtocol,
        ws="none",
        log_level="warning",
        server_header=False,
        proxy_headers=proxy is not None,
        forwarded_allow_ips=proxy or "",
        timeout_graceful_shutdown=STOP_SECONDS,
        ssl_certfile=certificate[0] if certificate else None,
        ssl_keyfile=certificate[1] if certificate else None,
    )
