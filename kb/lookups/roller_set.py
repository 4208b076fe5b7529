"""What a set of weighed rollers does on an engine."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.engines import get_engine
from kb.lookups.needs import list_needs
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.values import RollerNeed
from kb.rules.roller_set import RollerPlace, RollerSetAnswer, judge_roller_set
from kb.tables.columns import get_table
from kb.terms import Position


def judge_rollers(
    session: Session, engine_code: str, masses_g: Sequence[float], *, radius_mm: float | None = None
) -> tuple[str, RollerSetAnswer, str | None]:
    """Engine, answer, and the source of the mass that the engine needs.

    Raises:
        NotFound: the engine is unknown.
        BadInput: too few or too many rollers, or a number that is not above 0.
    """
    engine = get_engine(session, engine_code)
    needs = [
        need for need in list_needs(session, engine.id, Position.ROLLERS) if isinstance(need, RollerNeed)
    ]
    outer_mm, max_rpm = _find_drive(session, engine.id)
    place = RollerPlace(
        need_mass_g=next((need.mass_g for need in needs if need.mass_g), None),
        need_count=next((need.count for need in needs if need.count), None),
        radius_mm=radius_mm,
        outer_radius_mm=outer_mm,
        max_rpm=max_rpm,
    )
    return engine.engine, judge_roller_set(masses_g, place), needs[0].source.as_text() if needs else None


def _find_drive(session: Session, engine_id: int) -> tuple[float | None, float | None]:
    """Outer radius of the drive pulley and highest speed, each by the best source that states it."""
    drive = get_table("drive")
    rows = [row for row, _ in read_sourced_rows(session, select(drive).where(drive.c.engine_id == engine_id))]
    outer = next((row.drive_outer_radius_mm for row in rows if row.drive_outer_radius_mm), None)
    return outer, next((row.max_rpm for row in rows if row.max_rpm), None)
