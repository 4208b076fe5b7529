"""Postings that carry an ``Idempotency-Key``: done once, and answered the same way each time."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import Depends, Header, Request
from pydantic import BaseModel
from sqlmodel import Session
from starlette.exceptions import HTTPException
from starlette.responses import Response

from api.dependencies import Writer, name_caller
from api.problems import MEDIA_TYPE, build_body, describe_error
from kb.edits.idempotency import (
    PostedRequest,
    StoredAnswer,
    add_request,
    build_request,
    change_answer,
    is_under_way,
)
from kb.errors import BadInput, Conflict

RETRY_UNDER_WAY_SECONDS = 1
Work = Callable[..., dict[str, Any]]
RequestKey = Annotated[
    str | None, Header(alias="Idempotency-Key", description="A new one for each posting; needed.")
]


class KeysUnderWay:
    """Keys whose posting this process is working on: a repetition is sent away instead of waiting for it."""

    def __init__(self) -> None:
        self._keys: set[str] = set()
        self._lock = threading.Lock()

    def has(self, key: str) -> bool:
        """Whether a request works under this key now."""
        return key in self._keys

    @contextmanager
    def hold(self, key: str) -> Iterator[bool]:
        """Take the key while the block runs; False where another request has it."""
        with self._lock:
            is_free = key not in self._keys
            self._keys.add(key)
        try:
            yield is_free
        finally:
            if is_free:
                with self._lock:
                    self._keys.discard(key)


class Once:
    """Does what a request posts once under its key, in the name of its caller.

    Work is called as ``work(session, post, made_by=caller, now=now)``; ``session`` sees what it did.
    """

    def __init__(self, request: Request, session: Writer) -> None:
        self._request = request
        self.session = session

    def answer(self, key: str | None, post: BaseModel, work: Work) -> Response:
        """Do the work unless it was done under this key already; either way the same answer.

        While the first request with a key is at work, a repetition gets 409 with ``Retry-After``. What
        contradicts the stock (409) is an answer too and is kept; what is refused before any work (400, 404,
        422) leaves the key free.

        Args:
            key: the header, or None where it is missing.
            post: the body; it also tells a repetition from something else.
            work: does it and returns the answer; key, answer and work are committed together.
        """
        session, caller = self.session, name_caller(self._request)
        return _post_once(
            self._request,
            session,
            _build(self._request, key, post),
            work=lambda: work(session, post, made_by=caller, now=datetime.now(UTC)),
        )

    def do(self, key: str, post: BaseModel, work: Work) -> dict[str, Any]:
        """The same for a page: what was answered, as data.

        Raises:
            Conflict: it was refused; the message is the sentence of the answer.
        """
        answer = self.answer(key, post, work)
        told: dict[str, Any] = json.loads(bytes(answer.body))
        if answer.status_code >= 400:
            raise Conflict(str(told["detail"]))
        return told


class OnceByHeader:
    """The same with the key in the header ``Idempotency-Key``."""

    def __init__(self, once: Annotated[Once, Depends()], key: RequestKey = None) -> None:
        self._once = once
        self._key = key

    def __call__(self, post: BaseModel, work: Work) -> Response:
        """The answer to the posting."""
        return self._once.answer(self._key, post, work)


FormOnce = Annotated[Once, Depends()]
HeaderOnce = Annotated[OnceByHeader, Depends()]


def _post_once(
    request: Request, session: Session, asked: PostedRequest, *, work: Callable[[], dict[str, Any]]
) -> Response:
    under_way: KeysUnderWay = request.app.state.keys_under_way
    with under_way.hold(asked.key) as is_free:
        if not is_free or is_under_way(session, asked.key):
            raise HTTPException(
                409,
                f"The posting with Idempotency-Key '{asked.key[:60]}' is still under way; ask again in "
                "a moment.",
                headers={"Retry-After": str(RETRY_UNDER_WAY_SECONDS)},
            )
        return _post(request, session, asked, work=work)


def _post(
    request: Request, session: Session, asked: PostedRequest, *, work: Callable[[], dict[str, Any]]
) -> Response:
    # What is refused leaves the key free also where the caller goes on with the session.
    with session.begin_nested():
        stored = add_request(session, asked, now=datetime.now(UTC))
        if stored is not None:
            return _repeat(stored, asked)
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


def _repeat(stored: StoredAnswer, asked: PostedRequest) -> Response:
    if not stored.is_same or stored.status is None or stored.body is None:
        message = (
            f"Idempotency-Key '{asked.key[:60]}' was used for something else; write a new key for a new "
            "posting. Nothing was booked."
        )
        raise BadInput(message, field="Idempotency-Key")
    return _answer(stored.status, stored.body)


def _build(request: Request, key: str | None, post: BaseModel) -> PostedRequest:
    if key is None:
        raise HTTPException(400, "This posting needs the header Idempotency-Key: a new one for each posting.")
    caller = name_caller(request) or "-"
    try:
        body = post.model_dump_json().encode()
        return build_request(key, caller, f"{request.method} {request.url.path}", body=body)
    except BadInput as error:
        raise HTTPException(400, str(error)) from error


def _answer(status: int, body: str) -> Response:
    return Response(body, status, media_type="application/json" if status < 400 else MEDIA_TYPE)
