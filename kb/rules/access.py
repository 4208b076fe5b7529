"""What a role opens, and until when a key or a sign-in holds.

Source: the spans are a judgement of this project: a sign-in outlasts a working day but not a week, so that a
machine left unlocked does not stay open for ever.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta

from kb.terms import Role

PREFIX_CHARACTERS = 8


@dataclass(frozen=True, slots=True)
class SignInSpan:
    """How long a sign-in holds: without use, and at most."""

    idle: timedelta = timedelta(hours=12)
    longest: timedelta = timedelta(days=7)


def digest_secret(text: str) -> str:
    """What is stored of a key or a cookie, as hexadecimal SHA-256.

    One plain hash is enough for a random text of 160 bits: nothing in it can be guessed, so nothing needs to
    make guessing slow.

    Source: published: OWASP Application Security Verification Standard 5.0, requirement 6.5.2.
    Example:
        >>> digest_secret("abc")[:16]
        'ba7816bf8f01cfea'
    """
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def is_allowed(held: Role, needed: Role) -> bool:
    """Whether a role opens what another is needed for; each role includes those before it.

    Example:
        >>> is_allowed(Role.STOCK, Role.READ), is_allowed(Role.STOCK, Role.ADMIN)
        (True, False)
    """
    order = list(Role)
    return order.index(held) >= order.index(needed)


def is_key_alive(*, expires_at_utc: datetime | None, revoked_at_utc: datetime | None, now: datetime) -> bool:
    """Whether a key opens anything at ``now``; at the moment of its expiry it does not."""
    return revoked_at_utc is None and (expires_at_utc is None or now < expires_at_utc)


def is_sign_in_alive(
    made_at_utc: datetime, last_used_at_utc: datetime, *, now: datetime, span: SignInSpan
) -> bool:
    """Whether a sign-in still holds. One dated in the future does not: the clock was set back."""
    if now < made_at_utc:
        return False
    return now - last_used_at_utc < span.idle and now - made_at_utc < span.longest
