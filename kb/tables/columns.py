"""Column building blocks shared by all tables: names of constraints, checks, references.

The naming convention makes every constraint addressable in later migrations on both databases.
"""

import importlib
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from sqlalchemy import CheckConstraint, Index, Table, text
from sqlmodel import Field, SQLModel

NAMING_CONVENTION = {
    "ix": "ix_%(column_0_N_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}
SQLModel.metadata.naming_convention = NAMING_CONVENTION
# Table classes check nothing when constructed, so their validators are never needed: not building them saves
# a tenth of the time from the start of a command to its answer (measured).
SQLModel.model_config["defer_build"] = True


TABLES_OF_MODULE = {
    "access": (
        "access_key",
        "access_session",
    ),
    "bench": (
        "machine",
        "reading",
    ),
    "engines": (
        "family",
        "engine",
        "feature",
        "vehicle",
        "drive",
    ),
    "look_up": (
        "look_up_entry",
        "look_up_key",
        "look_up_term",
        "look_up_state",
    ),
    "needs": (
        "belt_need",
        "roller_need",
        "spring_need",
        "size_need",
        "wear_limit",
        "fastener",
    ),
    "orders": (
        "purchase_order",
        "purchase_order_line",
        "machine_job",
        "set_aside",
        "answered_request",
    ),
    "parts": (
        "maker",
        "part",
        "part_record",
        "fit",
        "replacement",
        "trade_name",
    ),
    "service": (
        "job",
        "job_step",
        "tool",
        "symptom",
        "symptom_cause",
    ),
    "sources": (
        "import_batch",
        "import_change",
        "column_map",
        "source",
    ),
    "stock": (
        "supplier",
        "supplier_terms",
        "offer",
        "location",
        "stock_level",
        "stock_movement",
        "stock_count",
        "demand",
        "unmet_request",
        "excluded_demand",
        "demand_month",
        "demand_type_month",
        "stock_out",
        "manual_level",
    ),
}
_MODULE_OF_TABLE = {table: module for module, tables in TABLES_OF_MODULE.items() for table in tables}


def build_word_check(column: str, words: type[StrEnum] | Iterable[str]) -> CheckConstraint:
    """CHECK that a column holds one word of a closed list (or nothing, where it may be empty)."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_word")


def build_positive_checks(*columns: str) -> tuple[CheckConstraint, ...]:
    """CHECKs that numbers, where known, are above zero."""
    return tuple(CheckConstraint(f"{column} > 0", name=f"{column}_positive") for column in columns)


def build_not_negative_checks(*columns: str) -> tuple[CheckConstraint, ...]:
    """CHECKs that numbers, where known, are zero or above."""
    return tuple(CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative") for column in columns)


def build_primary_key() -> Any:
    """Surrogate key; ``None`` only before the row is stored."""
    return Field(default=None, primary_key=True)


def build_reference(target: str, *, index: bool = False, nullable: bool = False) -> Any:
    """Reference to another table that forbids removing the row referred to."""
    if nullable:
        return Field(default=None, foreign_key=target, index=index, ondelete="RESTRICT")
    return Field(foreign_key=target, index=index, ondelete="RESTRICT")


def get_table(name: str) -> Table:
    """The stored table with this name, for statements that name columns rather than classes."""
    if name not in SQLModel.metadata.tables:
        importlib.import_module(f"kb.tables.{_MODULE_OF_TABLE[name]}")
    return SQLModel.metadata.tables[name]


def build_partial_index(name: str, *columns: str, where: str, unique: bool = False) -> Index:
    """Index of the rows that meet a condition, on both databases.

    PostgreSQL's half is filled in by ``complete_partial_indexes``: naming it here would load that driver's
    whole dialect at every start of a command (measured: a tenth of its time).
    """
    return Index(name, *columns, unique=unique, sqlite_where=text(where), info={"where": where})


def complete_partial_indexes() -> None:
    """Tell PostgreSQL too which rows the partial indexes hold; needed only where tables are made.

    Concerns the tables defined so far: import ``kb.tables.schema`` before.
    """
    for table in SQLModel.metadata.tables.values():
        for index in table.indexes:
            if "where" in index.info:
                index.dialect_options["postgresql"]["where"] = text(index.info["where"])
