"""Access keys of people and programs, and the sign-ins made with them. Only digests are kept."""

from datetime import datetime

from sqlmodel import Field, SQLModel

from kb.tables.columns import (
    build_partial_index,
    build_primary_key,
    build_reference,
    build_word_check,
)
from kb.terms import Role


class AccessKey(SQLModel, table=True):
    """One key: its name, what it opens, and the SHA-256 of its text.

    A name is used by one key at a time; a revoked key keeps its row, so that its name stays readable.
    """

    __tablename__ = "access_key"
    __table_args__ = (
        build_word_check("role", Role),
        build_partial_index("uq_access_key_name_alive", "name", where="revoked_at_utc IS NULL", unique=True),
    )

    id: int | None = build_primary_key()
    name: str
    role: str
    prefix: str = Field(index=True)
    digest_sha256: str = Field(unique=True)
    made_at_utc: datetime
    expires_at_utc: datetime | None = None
    revoked_at_utc: datetime | None = None
    last_used_at_utc: datetime | None = None


class AccessSession(SQLModel, table=True):
    """A sign-in of a person: the SHA-256 of the cookie's text, and the key that was shown for it."""

    __tablename__ = "access_session"

    id: int | None = build_primary_key()
    digest_sha256: str = Field(unique=True)
    access_key_id: int = build_reference("access_key.id", index=True)
    made_at_utc: datetime
    last_used_at_utc: datetime
