"""Errors as problem details (RFC 9457): the only place where an error becomes an HTTP status.

``type`` is a stable URN per kind of problem, ``detail`` is the sentence for the person. What went wrong
inside is never shown: an unexpected error gives a request id, and the log holds the rest under that id.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import Match

from kb.errors import BadInput, BadNotation, Conflict, KbError, NotFound, Unavailable

MEDIA_TYPE = "application/problem+json"
TYPE_PREFIX = "urn:counterhand:problem:"
RETRY_AFTER_SECONDS = 2
_SHOWN_CHARACTERS = 80
_METHODS = ("DELETE", "GET", "HEAD", "PATCH", "POST", "PUT")

TITLES: dict[str, tuple[int, str]] = {
    "bad-request": (400, "The request is malformed"),
    "bad-host": (400, "Unknown host name"),
    "no-key": (401, "Access key needed"),
    "cross-site": (403, "Asked for by another site"),
    "not-allowed": (403, "Not allowed"),
    "not-found": (404, "Not in the catalogue"),
    "no-such-address": (404, "No such address"),
    "wrong-method": (405, "Method not allowed"),
    "conflict": (409, "Contradicts what is stored"),
    "under-way": (409, "Still under way"),
    "body-too-large": (413, "Request body too large"),
    "unsupported-media-type": (415, "Media type not supported"),
    "not-understood": (422, "Not understood"),
    "bad-input": (422, "Value not accepted"),
    "import-refused": (422, "The file was refused"),
    "too-many-requests": (429, "Too many requests"),
    "inside": (500, "Something went wrong inside"),
    "unavailable": (503, "Database not available"),
}
_SLUG_OF_STATUS = {
    400: "bad-request",
    401: "no-key",
    403: "not-allowed",
    404: "no-such-address",
    405: "wrong-method",
    409: "under-way",
    413: "body-too-large",
    415: "unsupported-media-type",
    429: "too-many-requests",
}

PageRenderer = Callable[[Request, "Problem"], Response]


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem before it is written down. ``status`` stands in for the usual one of the kind."""

    slug: str
    detail: str
    extra: dict[str, Any] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    status: int | None = None

    @property
    def code(self) -> int:
        """HTTP status."""
        return self.status or TITLES[self.slug][0]

    @property
    def title(self) -> str:
        """Short name of the kind of problem."""
        return TITLES[self.slug][1]


def build_body(problem: Problem, *, instance: str, request_id: str) -> bytes:
    """The problem details as JSON."""
    members = {
        "type": TYPE_PREFIX + problem.slug,
        "title": problem.title,
        "status": problem.code,
        "detail": problem.detail,
        "instance": instance,
        "request_id": request_id,
        **problem.extra,
    }
    return json.dumps(members, ensure_ascii=False).encode("utf-8", "replace")


def build_inside_problem(request_id: str) -> Problem:
    """The answer to an error that nobody foresaw: nothing but the id under which the log holds it."""
    return Problem("inside", f"Something went wrong inside; the log holds it as request {request_id}.")


def describe_error(error: KbError) -> Problem:
    """The problem that an error of the tree stands for."""
    detail = str(error)
    if isinstance(error, NotFound):
        return Problem("not-found", detail, {"nearest": list(error.nearest)})
    if isinstance(error, BadNotation):
        return Problem("not-understood", detail, {"reason": str(error.reason)})
    if isinstance(error, BadInput):
        return Problem("bad-input", detail, {"field": error.field})
    if isinstance(error, Conflict):
        return Problem("conflict", detail, dict(error.figures))
    if isinstance(error, Unavailable):
        return Problem("unavailable", detail, headers={"Retry-After": str(RETRY_AFTER_SECONDS)})
    return Problem("bad-input", detail)


def register_problem_handlers(app: FastAPI, render_page: PageRenderer) -> None:
    """Answers of the app to errors; ``render_page`` makes the page for a person with a browser."""

    def answer(request: Request, problem: Problem) -> Response:
        if _wants_page(request):
            response = render_page(request, problem)
            response.headers.update(problem.headers)
            return response
        body = build_body(
            problem, instance=request.url.path, request_id=getattr(request.state, "request_id", "")
        )
        return Response(body, problem.code, headers=problem.headers, media_type=MEDIA_TYPE)

    def on_kb_error(request: Request, error: Exception) -> Response:
        assert isinstance(error, KbError)
        return answer(request, describe_error(error))

    def on_http_error(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        return answer(request, _describe_http_error(request, error))

    def on_validation_error(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        return answer(request, _describe_validation_error(error))

    app.add_exception_handler(KbError, on_kb_error)
    app.add_exception_handler(HTTPException, on_http_error)
    app.add_exception_handler(RequestValidationError, on_validation_error)


def _wants_page(request: Request) -> bool:
    is_for_programs = request.url.path.startswith(("/api", "/healthz", "/metrics"))
    return not is_for_programs and "text/html" in request.headers.get("accept", "")


def _describe_http_error(request: Request, error: HTTPException) -> Problem:
    headers = dict(error.headers or {})
    slug = _SLUG_OF_STATUS.get(error.status_code, "bad-request")
    if error.status_code == 404:
        return Problem(
            slug, f"There is nothing at '{request.url.path[:_SHOWN_CHARACTERS]}'.", {"nearest": []}
        )
    if error.status_code == 405:
        allowed = ", ".join(_list_methods(request))
        headers["Allow"] = allowed
        return Problem(slug, f"{request.method} is not possible here; possible: {allowed}.", headers=headers)
    return Problem(slug, str(error.detail), headers=headers, status=error.status_code)


def _list_methods(request: Request) -> list[str]:
    """Methods of every route at this path, not only of the first."""
    return [method for method in _METHODS if _has_route(request, method)]


def _has_route(request: Request, method: str) -> bool:
    scope = {**request.scope, "method": "GET" if method == "HEAD" else method}
    return any(route.matches(scope)[0] is Match.FULL for route in request.app.router.routes)


def _describe_validation_error(error: RequestValidationError) -> Problem:
    unread = next((item for item in error.errors() if item["type"] == "json_invalid"), None)
    if unread is not None:
        place = f"character {unread['loc'][-1]}"
        fault = unread.get("ctx", {}).get("error", "not JSON")
        return Problem("bad-input", f"The body is not JSON: {fault}, near {place}.", {"field": None})
    errors = [
        {
            "where": str(item["loc"][0]) if item["loc"] else None,
            "field": ".".join(str(name) for name in item["loc"][1:]) or None,
            "found": _shorten(item.get("input")),
            "expected": item["msg"],
            "code": item["type"],
        }
        for item in error.errors()[:100]
    ]
    first = errors[0]
    detail = f"'{first['field'] or first['where']}' is not accepted: {first['expected']}."
    return Problem("bad-input", detail, {"field": first["field"], "errors": errors})


def _shorten(value: object) -> str | None:
    if value is None or isinstance(value, dict | list):
        return None
    text = str(value)
    return text if len(text) <= _SHOWN_CHARACTERS else text[: _SHOWN_CHARACTERS - 1] + "…"
