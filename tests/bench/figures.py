"""Measured figures beside their targets in one table, and an emptied PostgreSQL database."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Engine, text


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure; ``is_met`` is None where nothing is required of it."""

    where: str
    name: str
    value: str
    target: str = ""
    is_met: bool | None = None


def print_figures(figures: Sequence[Figure]) -> None:
    """Print a table: where, what, value, target, met or missed."""
    verdicts = {True: "met", False: "MISSED", None: ""}
    rows = [(one.where, one.name, one.value, one.target, verdicts[one.is_met]) for one in figures]
    rows.insert(0, ("where", "figure", "measured", "target", ""))
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def empty_postgres(engine: Engine) -> None:
    """Drop everything in the database."""
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
