"""Where values came from: sources, import batches, and what each batch changed."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import build_primary_key, build_reference, build_word_check
from kb.terms import SourceKind

BATCH_STATES = ("loaded", "undone")
CHANGE_ACTIONS = ("added", "changed")


class ImportBatch(SQLModel, table=True):
    """One import: file or folder, digest, time and counts; every imported row names its batch."""

    __tablename__ = "import_batch"
    __table_args__ = (build_word_check("state", BATCH_STATES),)

    id: int | None = build_primary_key()
    batch: str = Field(unique=True)
    kind: str
    file_name: str
    digest_sha256: str
    mapping_json: str | None = Field(default=None, sa_type=Text)
    report_json: str = Field(sa_type=Text)
    state: str
    made_at_utc: datetime
    undone_at_utc: datetime | None = None


class ImportChange(SQLModel, table=True):
    """What a batch did to stored rows, so that it can be taken back.

    ``added`` stands for a run of rows from ``row_id`` to ``last_row_id`` that the batch made (rows in
    that run that name another batch are not meant); ``changed`` for one row with its values before.
    """

    __tablename__ = "import_change"
    __table_args__ = (
        build_word_check("action", CHANGE_ACTIONS),
        CheckConstraint("last_row_id >= row_id", name="run_in_order"),
        UniqueConstraint("batch_id", "table_name", "row_id", "action"),
    )

    id: int | None = build_primary_key()
    batch_id: int = build_reference("import_batch.id")
    table_name: str
    row_id: int
    last_row_id: int
    action: str
    before_json: str | None = Field(default=None, sa_type=Text)


class ColumnMap(SQLModel, table=True):
    """What the columns of somebody's lists mean, remembered for the next one.

    ``headings_key`` is the folded heading line, by which the next file of the same shape is known.
    """

    __tablename__ = "column_map"
    __table_args__ = (UniqueConstraint("name", "kind"),)

    id: int | None = build_primary_key()
    name: str
    kind: str
    headings_key: str = Field(sa_type=Text)
    mapping_json: str = Field(sa_type=Text)
    saved_at_utc: datetime


class Source(SQLModel, table=True):
    """A manual, a standard, a supplier's list, a measurement, a habit or an estimate.

    The source named ``""`` stands for rows whose source cell is empty.
    """

    __tablename__ = "source"
    __table_args__ = (build_word_check("kind", SourceKind),)

    id: int | None = build_primary_key()
    source: str = Field(unique=True)
    kind: str
    title: str | None = None
    edition: str | None = None
    locator: str | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
