"""Counts of what was asked and how long it took, and their text for Prometheus.

Source: published: Prometheus text exposition format, version 0.0.4 (its line syntax from memory).
"""

import time
from bisect import bisect_left
from collections.abc import Iterable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
BOUNDS_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)


class Figures:
    """Requests by method, route and status, and their times. Labels are routes, never what was typed."""

    def __init__(self) -> None:
        self.requests: dict[tuple[str, str, int], int] = {}
        self.buckets = [0] * (len(BOUNDS_SECONDS) + 1)
        self.seconds = 0.0

    def note(self, method: str, route: str, *, status: int, seconds: float) -> None:
        """One request was answered."""
        key = (method, route, status)
        self.requests[key] = self.requests.get(key, 0) + 1
        self.buckets[bisect_left(BOUNDS_SECONDS, seconds)] += 1
        self.seconds += seconds

    def list_lines(self) -> Iterable[str]:
        """The figures as lines of the exposition format."""
        yield from _describe("counterhand_requests_total", "counter", "Requests answered.")
        for (method, route, status), count in sorted(self.requests.items()):
            labels = f'method="{escape(method)}",route="{escape(route)}",status="{status}"'
            yield f"counterhand_requests_total{{{labels}}} {count}"
        name = "counterhand_request_seconds"
        yield from _describe(name, "histogram", "Time to answer a request.")
        total = 0
        for bound, count in zip((*BOUNDS_SECONDS, "+Inf"), self.buckets, strict=True):
            total += count
            yield f'{name}_bucket{{le="{bound}"}} {total}'
        yield f"{name}_sum {self.seconds:.6f}"
        yield f"{name}_count {total}"


def _describe(name: str, kind: str, text: str) -> tuple[str, str]:
    return f"# HELP {name} {text}", f"# TYPE {name} {kind}"


def list_gauge_lines(name: str, text: str, value: float) -> tuple[str, ...]:
    """A figure that goes up and down."""
    return (*_describe(name, "gauge", text), f"{name} {value:g}" if value < 1e6 else f"{name} {value:.0f}")


def escape(label: str) -> str:
    """A label's value between its quotation marks.

    Example:
        >>> escape('say "hi"')
        'say \\\\"hi\\\\"'
    """
    return label.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")


class FigureCount:
    """Counts every answer, also those of the middleware and of errors."""

    def __init__(self, app: ASGIApp, figures: Figures) -> None:
        self.app = app
        self.figures = figures

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on, and count when the answer has gone."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = time.perf_counter()
        status = 500

        async def send_seen(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, send_seen)
        finally:
            seconds = time.perf_counter() - started
            self.figures.note(_name_method(scope), _name_route(scope), status=status, seconds=seconds)


def _name_method(scope: Scope) -> str:
    known = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
    return scope["method"] if scope["method"] in known else "other"


def _name_route(scope: Scope) -> str:
    """The path of the route with its names in braces: what was typed would make a figure of each text."""
    path = getattr(scope.get("route"), "path_format", None)
    if isinstance(path, str) and path:
        return path
    return "/static" if scope["path"].startswith("/static/") else "none"
