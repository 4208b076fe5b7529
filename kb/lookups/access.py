"""Who holds a key or a sign-in, and which keys there are. The text of a key is nowhere in an answer."""

import hmac
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlmodel import Session

from kb.rules.access import PREFIX_CHARACTERS, SignInSpan, digest_secret, is_key_alive, is_sign_in_alive
from kb.tables.columns import get_table
from kb.terms import Role


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """What is known of a key; ``state`` is ``alive``, ``expired`` or ``revoked``."""

    name: str
    role: Role
    prefix: str
    state: str
    made_at_utc: datetime
    expires_at_utc: datetime | None
    revoked_at_utc: datetime | None
    last_used_at_utc: datetime | None

    def as_json(self) -> dict[str, Any]:
        """The record for JSON."""
        return {
            name: value.isoformat() if isinstance(value, datetime) else value
            for name, value in asdict(self).items()
        }


@dataclass(frozen=True, slots=True)
class Caller:
    """Whoever showed a key or a sign-in that holds; ``last_used_at_utc`` is of what was shown."""

    name: str
    role: Role
    key_id: int
    sign_in_id: int | None
    last_used_at_utc: datetime | None


def list_access_keys(session: Session, *, now: datetime) -> tuple[KeyRecord, ...]:
    """All keys ever given out, oldest first."""
    table = get_table("access_key")
    rows = session.execute(select(table).order_by(table.c.id)).all()
    return tuple(
        KeyRecord(
            row.name,
            Role(row.role),
            row.prefix,
            _name_state(row, now),
            row.made_at_utc,
            row.expires_at_utc,
            row.revoked_at_utc,
            row.last_used_at_utc,
        )
        for row in rows
    )


def _name_state(row: Any, now: datetime) -> str:
    if row.revoked_at_utc is not None:
        return "revoked"
    return "alive" if _is_alive(row, now) else "expired"


def _is_alive(row: Any, now: datetime) -> bool:
    return is_key_alive(expires_at_utc=row.expires_at_utc, revoked_at_utc=row.revoked_at_utc, now=now)


def has_keys(session: Session) -> bool:
    """Whether any key was given out and not taken back; an expired one counts, time alone opens nothing."""
    table = get_table("access_key")
    query = select(func.count()).select_from(table).where(table.c.revoked_at_utc.is_(None))
    return bool(session.execute(query).scalar())


def has_admin_key(session: Session, *, now: datetime) -> bool:
    """Whether somebody holds a living key of the role ``admin``."""
    return any(key.role is Role.ADMIN and key.state == "alive" for key in list_access_keys(session, now=now))


def find_key_holder(session: Session, key: str, *, now: datetime) -> Caller | None:
    """Whose living key this is. Keys are told apart by their digests, in constant time."""
    if not (key.isascii() and key.isalnum()):
        return None
    table = get_table("access_key")
    digest = digest_secret(key)
    rows = session.execute(select(table).where(table.c.prefix == key[:PREFIX_CHARACTERS])).all()
    held = [row for row in rows if hmac.compare_digest(row.digest_sha256, digest)]
    if not held or not _is_alive(held[0], now):
        return None
    return Caller(held[0].name, Role(held[0].role), held[0].id, None, held[0].last_used_at_utc)


def find_signed_in(
    session: Session, token: str, *, now: datetime, span: SignInSpan | None = None
) -> Caller | None:
    """Who signed in with this cookie, if sign-in and key both still hold."""
    keys, sign_ins = get_table("access_key"), get_table("access_session")
    query = select(
        sign_ins.c.id.label("sign_in_id"),
        sign_ins.c.made_at_utc.label("signed_in_at_utc"),
        sign_ins.c.last_used_at_utc.label("sign_in_used_at_utc"),
        keys,
    ).join_from(sign_ins, keys, sign_ins.c.access_key_id == keys.c.id)
    row = session.execute(query.where(sign_ins.c.digest_sha256 == digest_secret(token))).first()
    if row is None or not _is_alive(row, now):
        return None
    if not is_sign_in_alive(
        row.signed_in_at_utc, row.sign_in_used_at_utc, now=now, span=span or SignInSpan()
    ):
        return None
    return Caller(row.name, Role(row.role), row.id, row.sign_in_id, row.sign_in_used_at_utc)
