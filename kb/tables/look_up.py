"""The look-up's index: tokens and keys of every part and engine, and the vocabulary of their rows.

The full-text index over ``look_up_entry.tokens`` is made by a migration of its own: FTS5 on SQLite, GIN on
PostgreSQL. An entry's id tells what it stands for: an even id is twice the id of a part, an odd one
twice the id of an engine and one. So no row is kept that only says so.
"""

from enum import IntEnum

from sqlalchemy import CheckConstraint, String, Text
from sqlmodel import Field, SQLModel

# Keys are searched by their first characters, which needs the plain order of characters.
_KEY_TYPE = String().with_variant(String(collation="C"), "postgresql")


class KeyKind(IntEnum):
    """How a part number is spelt in its key."""

    PLAIN = 0
    LOOK_ALIKE = 1
    REVERSED = 2


class LookUpEntry(SQLModel, table=True):
    """A part or an engine with its index tokens, separated by blanks."""

    __tablename__ = "look_up_entry"

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    tokens: str


class LookUpKey(SQLModel, table=True):
    """A key of a part number: plain, with look-alike characters made one (where that differs), reversed."""

    __tablename__ = "look_up_key"
    __table_args__ = (
        CheckConstraint("kind IN (0, 1, 2)", name="kind_known"),
        {"sqlite_with_rowid": False},
    )

    kind: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    key: str = Field(primary_key=True, sa_type=_KEY_TYPE)
    entry_id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})


class LookUpTerm(SQLModel, table=True):
    """A word, code or maker of the rows, and in how many entries it stands."""

    __tablename__ = "look_up_term"
    __table_args__ = ({"sqlite_with_rowid": False},)

    field: str = Field(primary_key=True)
    term: str = Field(primary_key=True)
    count: int


class LookUpState(SQLModel, table=True):
    """One row: counters, and the words that the index was written with.

    A process whose own copy of the terms or of the trade names is older reads them again.
    """

    __tablename__ = "look_up_state"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    terms_version: int
    names_version: int
    words_fingerprint: str | None = Field(default=None, sa_type=Text)


def get_part_entry_id(part_id: int) -> int:
    """Entry of a part."""
    return 2 * part_id


def get_engine_entry_id(engine_id: int) -> int:
    """Entry of an engine."""
    return 2 * engine_id + 1


def split_entry_id(entry_id: int) -> tuple[bool, int]:
    """Whether an entry is an engine, and the id of the part or the engine.

    Example:
        >>> split_entry_id(get_engine_entry_id(7)), split_entry_id(get_part_entry_id(7))
        ((True, 7), (False, 7))
    """
    return bool(entry_id % 2), entry_id // 2
