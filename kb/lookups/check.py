"""Verifies what must always hold: file, references, stock ledger, replacement chains, look-up index."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session

from kb.lookups.search.verify import find_index_difference
from kb.tables.columns import get_table
from kb.tables.demand_rows import build_month_sums
from kb.terms import ReplacementKind


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One thing verified."""

    what: str
    ok: bool
    detail: str = ""

    def as_json(self) -> dict[str, Any]:
        """The result for JSON."""
        return {"what": self.what, "ok": self.ok, "detail": self.detail}


def check_database(session: Session) -> list[CheckResult]:
    """All results, in one read transaction."""
    checks: tuple[tuple[str, Callable[[Session], str]], ...] = (
        ("database file", _find_file_damage),
        ("references between tables", _find_broken_reference),
        ("on hand is the sum of the movements", _find_ledger_difference),
        ("no negative stock", _find_negative_stock),
        ("moves between places add up to nothing", _find_half_move),
        ("pieces set aside are those of open jobs", _find_committed_difference),
        ("demand by month is the sum of its rows", _find_demand_difference),
        ("replacement chains have no loop", _find_loop),
        ("look-up index and rows agree", find_index_difference),
    )
    return [CheckResult(what, not (found := _look(session, find)), found) for what, find in checks]


def _look(session: Session, find: Callable[[Session], str]) -> str:
    """What is wrong; a database that cannot be read there is wrong as well, and no reason to stop looking."""
    try:
        return find(session)
    except DatabaseError as error:
        return f"cannot be read: {str(error.orig).splitlines()[0]}"


def _is_sqlite(session: Session) -> bool:
    return session.get_bind().dialect.name == "sqlite"


def _find_file_damage(session: Session) -> str:
    if not _is_sqlite(session):
        return ""
    answers = session.execute(text("PRAGMA integrity_check(5)")).scalars().all()
    return "" if list(answers) == ["ok"] else "; ".join(answers)


def _find_broken_reference(session: Session) -> str:
    if not _is_sqlite(session):
        return ""  # PostgreSQL checks every reference when it is written
    row = session.execute(text("PRAGMA foreign_key_check")).first()
    return f"table {row[0]}, row {row[1]} points at nothing in {row[2]}" if row else ""


def _find_ledger_difference(session: Session) -> str:
    movement, level = get_table("stock_movement"), get_table("stock_level")
    sums = (
        select(movement.c.part_id, movement.c.location_id, func.sum(movement.c.quantity).label("moved"))
        .group_by(movement.c.part_id, movement.c.location_id)
        .subquery()
    )
    same = (sums.c.part_id == level.c.part_id) & (sums.c.location_id == level.c.location_id)
    moved = func.coalesce(sums.c.moved, 0)
    row = session.execute(
        select(level.c.part_id, level.c.on_hand, moved)
        .select_from(level.outerjoin(sums, same))
        .where(level.c.on_hand != moved)
        .limit(1)
    ).first()
    if row is None:
        lost = session.execute(
            select(sums.c.part_id)
            .select_from(sums.outerjoin(level, same))
            .where(level.c.id.is_(None))
            .limit(1)
        ).first()
        return f"part {lost[0]} has movements but no stock row" if lost else ""
    return f"part {row[0]} shows {row[1]} on hand but its movements add up to {row[2]}"


def _find_half_move(session: Session) -> str:
    movement = get_table("stock_movement").c
    row = session.execute(
        select(movement.part_id, func.sum(movement.quantity))
        .where(movement.kind == "move")
        .group_by(movement.part_id)
        .having(func.sum(movement.quantity) != 0)
        .limit(1)
    ).first()
    return f"moves of part {row[0]} add up to {row[1]}" if row else ""


def _find_committed_difference(session: Session) -> str:
    level, line, job = get_table("stock_level"), get_table("set_aside"), get_table("machine_job")
    waiting = (
        select(
            line.c.part_id,
            job.c.location_id,
            func.sum(line.c.quantity - line.c.used - line.c.freed).label("pieces"),
        )
        .select_from(line.join(job))
        .group_by(line.c.part_id, job.c.location_id)
        .subquery()
    )
    same = (waiting.c.part_id == level.c.part_id) & (waiting.c.location_id == level.c.location_id)
    pieces = func.coalesce(waiting.c.pieces, 0)
    row = session.execute(
        select(level.c.part_id, level.c.committed, pieces)
        .select_from(level.outerjoin(waiting, same))
        .where(level.c.committed != pieces)
        .limit(1)
    ).first()
    return f"part {row[0]} shows {row[1]} set aside but its jobs hold {row[2]}" if row else ""


def _find_demand_difference(session: Session) -> str:
    month = get_table("demand_month")
    sums = build_month_sums(session.get_bind().dialect.name).subquery()
    same = (
        (sums.c.part_id == month.c.part_id)
        & (sums.c.month == month.c.month)
        & (sums.c.location_id == month.c.location_id)
    )
    stored = func.coalesce(month.c.pieces, 0)
    row = session.execute(
        select(sums.c.part_id, stored, sums.c.pieces)
        .select_from(sums.outerjoin(month, same))
        .where(sums.c.pieces != stored)
        .limit(1)
    ).first()
    if row is not None:
        return f"part {row[0]} shows {row[1]} in a month whose rows add up to {row[2]}"
    extra = session.execute(
        select(month.c.part_id)
        .select_from(month.outerjoin(sums, same))
        .where(sums.c.part_id.is_(None), month.c.pieces != 0)
        .limit(1)
    ).first()
    return f"part {extra[0]} shows demand in a month without rows" if extra else ""


def _find_negative_stock(session: Session) -> str:
    level = get_table("stock_level")
    row = session.execute(
        select(level.c.part_id, level.c.on_hand).where(level.c.on_hand < 0).limit(1)
    ).first()
    return f"part {row[0]} shows {row[1]} on hand" if row else ""


def _find_loop(session: Session) -> str:
    table = get_table("replacement")
    rows = session.execute(
        select(table.c.part_id, table.c.by_part_id).where(table.c.kind == ReplacementKind.SUPERSEDES)
    )
    successor = {row[0]: row[1] for row in rows}
    settled: set[int] = set()
    for start in successor:
        path: set[int] = set()
        current = start
        while current in successor and current not in settled:
            if current in path:
                return f"part {current} replaces itself over other parts"
            path.add(current)
            current = successor[current]
        settled |= path
    return ""
