"""Signing in with an access key, and signing out. The cookie holds a text of its own, not the key."""

import time
from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Request
from starlette.responses import RedirectResponse, Response

from api.access import LONGEST_SECRET, explain_wait, name_cookie, read_shown
from api.dependencies import NO_NUL, Reader, Writer
from api.pages.templates import render
from kb.edits.access import add_sign_in, remove_sign_in
from kb.lookups.access import find_key_holder, find_signed_in, has_keys
from kb.rules.access import SignInSpan

router = APIRouter(include_in_schema=False)

_WRONG = "This key opens nothing: it is mistyped, has expired or was taken back."
_MAX_ADDRESS = 2000


def keep_own_address(address: str) -> str:
    """An address of this service to go on to; anything else becomes the start page.

    Example:
        >>> keep_own_address("/engines?limit=5"), keep_own_address("//evil.test/")
        ('/engines?limit=5', '/')
    """
    is_own = address.startswith("/") and not address.startswith(("//", "/\\"))
    return address if is_own and address.isascii() and address.isprintable() else "/"


@router.get("/sign-in")
def show_sign_in(request: Request, session: Reader, next: str = "/") -> Response:  # noqa: A002 - its name in addresses
    """The form, or who is signed in."""
    shown = read_shown(request.scope)
    caller = find_signed_in(session, shown.cookie, now=datetime.now(UTC)) if shown.cookie else None
    return _render(next, caller=caller, has_keys=has_keys(session))


def _render(next_address: str, *, status: int = 200, **values: Any) -> Response:
    known: dict[str, Any] = {"caller": None, "has_keys": True, "error": "", **values}
    return render("sign_in.html", status=status, next=keep_own_address(next_address[:_MAX_ADDRESS]), **known)


def refuse_in_haste(request: Request) -> float:
    """Seconds that this address has to wait before it may try again."""
    seconds: float = request.app.state.throttle.count_wait_seconds(
        read_shown(request.scope).address, time.monotonic()
    )
    return seconds


@router.post("/sign-in")
def sign_in(
    request: Request,
    session: Writer,
    wait_seconds: Annotated[float, Depends(refuse_in_haste)],
    key: Annotated[str, Form(max_length=LONGEST_SECRET, pattern=NO_NUL)] = "",
    next: Annotated[str, Form(max_length=_MAX_ADDRESS)] = "/",  # noqa: A002
) -> Response:
    """Check the key, and give out a new cookie for it."""
    throttle, shown = request.app.state.throttle, read_shown(request.scope)
    if wait_seconds:
        problem = explain_wait(wait_seconds)
        response = _render(next, status=problem.code, error=problem.detail)
        response.headers.update(problem.headers)
        return response
    now = datetime.now(UTC)
    caller = find_key_holder(session, key.strip(), now=now)
    if caller is None:
        throttle.note_failure(shown.address, time.monotonic())
        return _render(next, status=403, error=_WRONG)
    throttle.note_success(shown.address)
    if shown.cookie:
        remove_sign_in(session, shown.cookie)
    response = RedirectResponse(keep_own_address(next), status_code=303)
    response.set_cookie(
        name_cookie(request.scope),
        add_sign_in(session, caller.key_id, now=now),
        max_age=int(SignInSpan().longest.total_seconds()),
        path="/",
        httponly=True,
        samesite="strict",
        secure=request.scope.get("scheme") == "https",
    )
    return response


@router.post("/sign-out")
def sign_out(request: Request, session: Writer) -> Response:
    """End the sign-in at once, here and in the database."""
    shown = read_shown(request.scope)
    if shown.cookie:
        remove_sign_in(session, shown.cookie)
    response = RedirectResponse("/sign-in", status_code=303)
    is_tls = request.scope.get("scheme") == "https"
    response.delete_cookie(
        name_cookie(request.scope), path="/", httponly=True, samesite="strict", secure=is_tls
    )
    return response
