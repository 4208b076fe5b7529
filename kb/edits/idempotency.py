"""Postings that were answered already: a repetition gets the first answer and books nothing.

The record is written in the same transaction as the posting, so it survives a crash exactly when the
posting does. Kept for seven days, because a workshop may be closed over a long weekend.
"""

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import delete, func, select, update
from sqlmodel import Session

from kb.edits.upsert import build_insert
from kb.errors import BadInput
from kb.tables.columns import get_table

KEPT_DAYS = 7
LONGEST_KEY = 255


@dataclass(frozen=True, slots=True)
class PostedRequest:
    """Who asks for what under which key; ``digest_sha256`` stands for the body."""

    key: str
    caller: str
    operation: str
    digest_sha256: str


@dataclass(frozen=True, slots=True)
class StoredAnswer:
    """The answer that the first request got; ``is_same`` is false when this request differs from it."""

    is_same: bool
    status: int | None
    body: str | None


def build_request(key: str, caller: str, operation: str, *, body: bytes) -> PostedRequest:
    """A request with a checked key.

    Raises:
        BadInput: the key is empty, longer than 255 characters or not printable ASCII.
    """
    if not 1 <= len(key) <= LONGEST_KEY or not all(" " <= character <= "~" for character in key):
        message = (
            f"Idempotency-Key '{key[:60]}' is not usable; write 1 to {LONGEST_KEY} printable ASCII "
            "characters, a new one for each posting and the same one when it is repeated."
        )
        raise BadInput(message, field="Idempotency-Key")
    return PostedRequest(key, caller, operation, hashlib.sha256(body).hexdigest())


def is_under_way(session: Session, key: str) -> bool:
    """Whether another transaction works under this key, without waiting for it; True books nothing.

    Asked of PostgreSQL, whose writers work side by side, in any number of processes. SQLite lets one writer
    in at a time, so there a repetition waits its turn and finds the answer.
    """
    connection = session.connection()
    if connection.dialect.name != "postgresql":
        return False
    digest = int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "big", signed=True)
    # Held until this transaction ends.
    return not connection.execute(select(func.pg_try_advisory_xact_lock(digest))).scalar_one()


def add_request(session: Session, request: PostedRequest, *, now: datetime) -> StoredAnswer | None:
    """Take a key, or say what was answered under it.

    Args:
        session: the writer's session that will also book the posting.
        request: key, caller, operation and digest of the body.
        now: time of the request, with its time zone.

    Returns:
        None for a new key. Where another request with this key is under way, the database makes this one
        wait until that is committed or taken back.
    """
    connection = session.connection()
    records = get_table("answered_request")
    now_utc = now.astimezone(UTC)
    oldest = now_utc - timedelta(days=KEPT_DAYS)
    connection.execute(delete(records).where(records.c.made_at_utc < oldest))
    statement = build_insert(connection, records).values(
        request_key=request.key,
        caller=request.caller,
        operation=request.operation,
        digest_sha256=request.digest_sha256,
        made_at_utc=now_utc,
    )
    taken = connection.execute(
        statement.on_conflict_do_nothing(index_elements=["request_key"]).returning(records.c.id)
    ).first()
    if taken is not None:
        return None
    row = connection.execute(select(records).where(records.c.request_key == request.key)).one()
    stored = PostedRequest(row.request_key, row.caller, row.operation, row.digest_sha256)
    return StoredAnswer(stored == request, row.status, row.body)


def change_answer(session: Session, request: PostedRequest, *, status: int, body: str) -> None:
    """Keep the answer of a request whose key was taken in this transaction."""
    records = get_table("answered_request")
    session.connection().execute(
        update(records).where(records.c.request_key == request.key).values(status=status, body=body)
    )
