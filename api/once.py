"""Postings that carry an ``Idempotency-Key``: done once, and answered the same way each time."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from fastapi import Request
from pydantic import BaseModel
from sqlmodel import Session
from starlette.exceptions import HTTPException
from starlette.responses import Response

from api.problems import MEDIA_TYPE, build_body, describe_error
from kb.edits.idempotency import PostedRequest, add_request, build_request, change_answer
from kb.errors import BadInput, Conflict


def post_once(
    request: Request,
    session: Session,
    key: str | None,
    *,
    post: BaseModel,
    work: Callable[[], dict[str, Any]],
) -> Response:
    """Do the work unless it was done under this key already; either way the same answer.

    What contradicts the stock (409) is an answer too and is kept; what is refused before any work (400, 404,
    422) leaves the key free.

    Args:
        request: who asks, and which address.
        session: a writer's session; key, answer and work are committed together.
        key: the header, or None where it is missing.
        post: the body, for telling a repetition from something else.
        work: does it and returns the answer.
    """
    asked = _build(request, key, post)
    stored = add_request(session, asked, now=datetime.now(UTC))
    if stored is not None:
        if not stored.is_same or stored.status is None or stored.body is None:
            message = (
                f"Idempotency-Key '{asked.key[:60]}' was used for something else; write a new key for a new "
                "posting. Nothing was booked."
            )
            raise BadInput(message, field="Idempotency-Key")
        return _answer(stored.status, stored.body)
    try:
        with session.begin_nested():
            status, body = 201, json.dumps(work(), ensure_ascii=False)
    except Conflict as error:
        problem = describe_error(error)
        request_id = getattr(request.state, "request_id", "")
        status = problem.code
        body = build_body(problem, instance=request.url.path, request_id=request_id).decode()
    change_answer(session, asked, status=status, body=body)
    return _answer(status, body)


def _build(request: Request, key: str | None, post: BaseModel) -> PostedRequest:
    if key is None:
        raise HTTPException(400, "This posting needs the header Idempotency-Key: a new one for each posting.")
    caller = getattr(request.state, "caller", "") or "-"
    try:
        body = post.model_dump_json().encode()
        return build_request(key, caller, f"{request.method} {request.url.path}", body=body)
    except BadInput as error:
        raise HTTPException(400, str(error)) from error


def _answer(status: int, body: str) -> Response:
    return Response(body, status, media_type="application/json" if status < 400 else MEDIA_TYPE)
