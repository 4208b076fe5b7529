"""Access keys given out and taken back, and sign-ins made with them.

The text of a key is returned once and never stored; the database keeps its digest.
"""

import re
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, or_, select, update
from sqlmodel import Session

from kb.errors import BadInput, Conflict, NotFound
from kb.rules.access import PREFIX_CHARACTERS, SignInSpan, digest_secret
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.access import AccessKey, AccessSession
from kb.tables.columns import get_table
from kb.terms import Role

KEY_BYTES = 20
_NAME = re.compile(r"[\w][\w .@-]{0,59}")


@dataclass(frozen=True, slots=True)
class IssuedKey:
    """A new key; ``key`` is its text, which exists nowhere else."""

    name: str
    role: Role
    prefix: str
    key: str
    expires_at_utc: datetime | None


def add_access_key(
    session: Session, name: str, role: Role, *, now: datetime, expires_at_utc: datetime | None = None
) -> IssuedKey:
    """A new key under a name that no other living key has.

    Raises:
        BadInput: the name is empty, too long or holds other than letters, digits, blanks and ``. _ @ -``.
        Conflict: a living key has this name.
    """
    name = name.strip()
    if not _NAME.fullmatch(name):
        raise BadInput(
            f"Name '{name[:60]}' is not accepted; use 1 to 60 letters, digits, blanks and . _ @ - for a key.",
            field="name",
        )
    if expires_at_utc is not None and expires_at_utc <= now:
        raise BadInput("The key would have expired already; give a later day.", field="expires")
    table = get_table("access_key")
    if session.execute(
        select(table.c.id).where(table.c.name == name, table.c.revoked_at_utc.is_(None))
    ).first():
        raise Conflict(f"There is a key named '{name}' already; revoke it first or choose another name.")
    key = secrets.token_hex(KEY_BYTES)
    session.add(
        AccessKey(
            name=name,
            role=role,
            prefix=key[:PREFIX_CHARACTERS],
            digest_sha256=digest_secret(key),
            made_at_utc=now,
            expires_at_utc=expires_at_utc,
        )
    )
    session.flush()
    return IssuedKey(name, role, key[:PREFIX_CHARACTERS], key, expires_at_utc)


def revoke_access_key(session: Session, name_or_prefix: str, *, now: datetime) -> str:
    """End a living key, and every sign-in made with it; returns its name.

    Raises:
        NotFound: no living key has this name or these first characters.
    """
    table = get_table("access_key")
    rows = session.execute(
        select(table.c.id, table.c.name, table.c.prefix).where(table.c.revoked_at_utc.is_(None))
    ).all()
    named = [row for row in rows if row.name == name_or_prefix.strip()] or [
        row for row in rows if row.prefix == name_or_prefix.strip()
    ]
    if not named:
        names = [row.name for row in rows]
        raise NotFound(
            f"There is no living key '{name_or_prefix}'; {format_nearest(name_or_prefix, names)}.",
            nearest=find_nearest(name_or_prefix, names),
        )
    key_id, name, _ = named[0]
    session.execute(update(table).where(table.c.id == key_id).values(revoked_at_utc=now))
    sign_ins = get_table("access_session")
    session.execute(delete(sign_ins).where(sign_ins.c.access_key_id == key_id))
    return str(name)


def add_sign_in(session: Session, key_id: int, *, now: datetime) -> str:
    """A new sign-in with a key that was just checked; returns the text of its cookie. Old ones are swept."""
    table = get_table("access_session")
    span = SignInSpan()
    session.execute(
        delete(table).where(
            or_(
                table.c.made_at_utc <= now - span.longest,
                table.c.last_used_at_utc <= now - span.idle,
                table.c.made_at_utc > now,
            )
        )
    )
    token = secrets.token_hex(KEY_BYTES)
    session.add(
        AccessSession(
            digest_sha256=digest_secret(token), access_key_id=key_id, made_at_utc=now, last_used_at_utc=now
        )
    )
    return token


def remove_sign_in(session: Session, token: str) -> None:
    """End a sign-in; one that is gone already is no error."""
    table = get_table("access_session")
    session.execute(delete(table).where(table.c.digest_sha256 == digest_secret(token)))


def note_use(session: Session, *, key_id: int, sign_in_id: int | None, now: datetime) -> None:
    """Write down that a key, and the sign-in made with it, was used."""
    keys, sign_ins = get_table("access_key"), get_table("access_session")
    session.execute(update(keys).where(keys.c.id == key_id).values(last_used_at_utc=now))
    if sign_in_id is not None:
        session.execute(update(sign_ins).where(sign_ins.c.id == sign_in_id).values(last_used_at_utc=now))
