"""Parts that may do at a position: a range query on the numbers that decide, narrow enough to judge each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, and_, or_, select
from sqlmodel import Session

from kb.errors import BadNotation
from kb.notation.thread import parse_thread
from kb.rules.fit.envelope import O_RING_POSITIONS
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import BeltNeed, FastenerNeed, Need, PartSize, RollerNeed, SizeNeed, SpringNeed
from kb.tables.columns import get_table
from kb.terms import PartType, Position

MOST_CANDIDATES = 5000


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part whose numbers lie in the range, as one source states them."""

    part_id: int
    size: PartSize


def find_candidates(
    session: Session, position: Position, need: Need, *, part_types: Sequence[PartType], limits: FitLimits
) -> list[Candidate]:
    """Parts whose deciding numbers lie near the need; empty where the need lacks those numbers."""
    record, part = get_table("part_record"), get_table("part")
    condition = _build_condition(record.c, position, need, limits=limits)
    if condition is None:
        return []
    names = _NAMES[type(need)]
    statement = (
        select(record.c.part_id, *(record.c[name] for name in names))
        .select_from(record.join(part))
        .where(condition, part.c.part_type.in_([str(part_type) for part_type in part_types]))
        .limit(MOST_CANDIDATES)
    )
    return [
        Candidate(row[0], PartSize(**dict(zip(names, row[1:], strict=True))))
        for row in session.execute(statement)
    ]


_NAMES: dict[type, tuple[str, ...]] = {
    BeltNeed: ("length_mm", "length_kind", "top_width_mm", "angle_deg", "thickness_mm"),
    RollerNeed: ("diameter_mm", "width_mm", "mass_g", "count"),
    SpringNeed: ("count", "rated_rpm", "free_length_mm", "wire_mm", "coil_mm", "active_coils"),
    SizeNeed: ("bore_mm", "outside_mm", "width_mm", "clearance", "form"),
    FastenerNeed: ("thread", "across_flats_mm"),
}


def _build_condition(
    column: Any, position: Position, need: Need, *, limits: FitLimits
) -> ColumnElement[bool] | None:
    if isinstance(need, BeltNeed):
        code = limits.belt_code
        return _near(
            (column.length_mm, need.length_mm, code.length_refused_mm),
            (column.top_width_mm, need.top_width_mm, code.top_width_refused_mm),
            (column.angle_deg, need.angle_deg, code.angle_refused_deg),
        )
    if isinstance(need, RollerNeed):
        size_mm = limits.roller_size_mm
        return _near(
            (column.diameter_mm, need.diameter_mm, size_mm), (column.width_mm, need.width_mm, size_mm)
        )
    if isinstance(need, SizeNeed):
        return _build_envelope_condition(column, position, need, limits)
    if isinstance(need, SpringNeed):
        return _build_spring_condition(column, position, need)
    return _build_thread_condition(column, need)


def _near(*triples: tuple[Any, float | None, float]) -> ColumnElement[bool] | None:
    """Condition that every column lies within its limit of its need; None where a need is not known."""
    if any(need is None for _, need, _ in triples):
        return None
    slack = 1e-6
    return and_(
        *(
            column.between((need or 0) - limit - slack, (need or 0) + limit + slack)
            for column, need, limit in triples
        )
    )


def _build_envelope_condition(
    column: Any, position: Position, need: SizeNeed, limits: FitLimits
) -> ColumnElement[bool] | None:
    bore = (column.bore_mm, need.bore_mm, limits.envelope_mm)
    if position in O_RING_POSITIONS:
        return _near(bore)
    return _near(bore, (column.outside_mm, need.outside_mm, limits.envelope_mm))


def _build_spring_condition(column: Any, position: Position, need: SpringNeed) -> ColumnElement[bool] | None:
    if position is Position.CLUTCH_SPRINGS:
        return and_(column.rated_rpm.is_not(None), column.count == need.count) if need.count else None
    if need.outer_space_mm is None or need.inner_space_mm is None:
        return None
    return column.coil_mm.between(need.inner_space_mm, need.outer_space_mm)


def _build_thread_condition(column: Any, need: FastenerNeed) -> ColumnElement[bool] | None:
    if need.thread is None:
        return None
    try:
        diameter = f"{parse_thread(need.thread).d_mm:g}"
    except BadNotation:
        return None
    starts = [f"{letter}{gap}{diameter}" for letter in "Mm" for gap in ("", " ")]
    return or_(*(and_(column.thread >= start, column.thread < start + "z") for start in starts))
