"""Jobs with their steps, the tools of the shop, and symptoms with what may cause them."""

from sqlalchemy import CheckConstraint, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from kb.tables.columns import build_positive_checks, build_primary_key, build_reference, build_word_check
from kb.terms import Position, ToolKind


class Job(SQLModel, table=True):
    """A piece of work that the shop does, such as a belt change."""

    __tablename__ = "job"

    id: int | None = build_primary_key()
    job: str = Field(unique=True)
    title: str | None = None
    note: str | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class JobStep(SQLModel, table=True):
    """One step of a job, in order."""

    __tablename__ = "job_step"
    __table_args__ = (
        UniqueConstraint("job_id", "step"),
        build_word_check("position", Position),
        *build_positive_checks("step"),
    )

    id: int | None = build_primary_key()
    job_id: int = build_reference("job.id")
    step: int
    text: str
    position: str | None = None
    needs_part: bool | None = None
    fastener: bool | None = None
    tool: str | None = None
    consumable: str | None = None
    caution: str | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Tool(SQLModel, table=True):
    """A tool that the shop owns, or knows that it lacks."""

    __tablename__ = "tool"
    __table_args__ = (
        build_word_check("kind", ToolKind),
        *build_positive_checks("size_mm", "min_nm", "max_nm"),
    )

    id: int | None = build_primary_key()
    tool: str = Field(unique=True)
    kind: str
    size_mm: float | None = None
    min_nm: float | None = None
    max_nm: float | None = None
    owned: bool | None = None
    note: str | None = None
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class Symptom(SQLModel, table=True):
    """What a rider complains of. ``words`` are ways to say it, with semicolons between them."""

    __tablename__ = "symptom"

    id: int | None = build_primary_key()
    symptom: str = Field(unique=True)
    title: str
    words: str | None = Field(default=None, sa_type=Text)
    note: str | None = None
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)


class SymptomCause(SQLModel, table=True):
    """What may cause a symptom, in the order in which to look, as one source states it."""

    __tablename__ = "symptom_cause"
    __table_args__ = (
        UniqueConstraint("symptom_id", "order", "source_id"),
        build_word_check("position", Position),
        CheckConstraint('"order" > 0', name="order_positive"),
    )

    id: int | None = build_primary_key()
    symptom_id: int = build_reference("symptom.id")
    order: int
    position: str | None = None
    cause: str
    check: str | None = None
    quantity: str | None = None
    job_id: int | None = build_reference("job.id", nullable=True)
    source_id: int = build_reference("source.id")
    batch_id: int | None = build_reference("import_batch.id", nullable=True)
