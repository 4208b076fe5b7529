"""Parts that may do at a position: a range query on the numbers that decide, grouped by equal sizes.

Many makers make the same few sizes, so a catalogue of a hundred thousand belts holds a few hundred sizes
near a need: each size is judged once, whatever the number of parts that have it.

A number that a source does not state is let through; the part's numbers are then put together from all its
sources before they are judged, as they are in a fit question.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, String, and_, case, cast, exists, false, func, or_, select
from sqlmodel import Session

from kb.lookups.parts import read_sizes
from kb.rules.fit.envelope import O_RING_POSITIONS
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import BeltNeed, FastenerNeed, Need, PartSize, RollerNeed, SizeNeed, SpringNeed
from kb.tables.columns import get_table
from kb.terms import Position

# Distinct sizes looked at, those nearest to the need first.
MOST_SIZES = 5000
_ROUNDING = 1e-6
_ANY_RATING_RPM = 1e6

# Ids as the database joins them, comma between: most groups are ranked and never looked at.
IdGroup = list[str]


@dataclass(frozen=True, slots=True)
class Near:
    """A column whose value must lie near a need [unit of the column]."""

    column: str
    need: float
    limit: float


def find_candidates(
    session: Session, position: Position, need: Need, *, limits: FitLimits
) -> dict[PartSize, IdGroup]:
    """Ids of the parts that may do, by size; empty where the need lacks the number that narrows most.

    The type of a part is not asked for here: numbers near the need say nearly all of it, the judge
    refuses the rest, and without the parts' own rows the index alone answers.
    """
    record = get_table("part_record")
    narrowed = _narrow(record.c, position, need, limits=limits)
    if narrowed is None:
        return {}
    condition, order = narrowed
    other = record.alias()
    names = _NAMES[type(need)]
    columns = [record.c[name] for name in names]
    # Only a row with gaps can be worth more than it says; a blank thickness is filled from the need anyhow.
    gaps = or_(*(record.c[name].is_(None) for name in names if name != "thickness_mm"))
    has_others = exists().where(other.c.part_id == record.c.part_id, other.c.id != record.c.id)
    is_split = case((gaps, has_others), else_=false()).label("is_split")
    statement = (
        select(func.aggregate_strings(cast(record.c.part_id, String), ","), is_split, *columns)
        .where(condition)
        .group_by("is_split", *columns)
        .order_by(*order)
        .limit(MOST_SIZES)
    )
    found: dict[PartSize, IdGroup] = defaultdict(list)
    split: IdGroup = []
    for ids, has_more, *numbers in session.execute(statement):
        if has_more:
            split.append(ids)
        else:
            found[PartSize(**dict(zip(names, numbers, strict=True)))].append(ids)
    for part_id, size in read_sizes(session, read_ids(split)).items():
        found[PartSize(**{name: getattr(size, name) for name in names})].append(str(part_id))
    return found


def read_ids(group: IdGroup) -> set[int]:
    """The ids of a group, read only when its parts are looked at."""
    return {int(part_id) for ids in group for part_id in ids.split(",")}


_NAMES: dict[type, tuple[str, ...]] = {
    BeltNeed: ("length_mm", "length_kind", "top_width_mm", "angle_deg", "thickness_mm"),
    RollerNeed: ("diameter_mm", "width_mm", "mass_g", "count"),
    SpringNeed: ("count", "rated_rpm", "free_length_mm", "wire_mm", "coil_mm", "active_coils"),
    SizeNeed: ("bore_mm", "outside_mm", "width_mm", "clearance", "form"),
    FastenerNeed: ("thread", "across_flats_mm"),
}


def _narrow(
    column: Any, position: Position, need: Need, *, limits: FitLimits
) -> tuple[ColumnElement[bool], list[Any]] | None:
    """Condition and order of the range query; None where nothing narrows it."""
    if isinstance(need, FastenerNeed):
        return (column.thread.is_not(None), [column.thread]) if need.thread else None
    nears = [
        Near(name, wanted, limit)
        for name, wanted, limit in _list_nears(position, need, limits)
        if wanted is not None
    ]
    leading = _LEADING.get(position, "bore_mm")
    first = next((near for near in nears if near.column == leading), None)
    if first is None:
        return None
    conditions = [_is_near(column[first.column], first)]
    for near in nears:
        if near is not first:
            conditions.append(or_(column[near.column].is_(None), _is_near(column[near.column], near)))
    return and_(*conditions), [func.abs(column[first.column] - first.need)]


_LEADING = {
    Position.DRIVE_BELT: "length_mm",
    Position.ROLLERS: "diameter_mm",
    Position.CLUTCH_SPRINGS: "rated_rpm",
    Position.CONTRA_SPRING: "coil_mm",
}


def _list_nears(position: Position, need: Need, limits: FitLimits) -> list[tuple[str, float | None, float]]:
    """Columns that must be near the need, with the need and the largest difference."""
    if isinstance(need, BeltNeed):
        code = limits.belt_code
        return [
            ("length_mm", need.length_mm, code.length_refused_mm),
            ("top_width_mm", need.top_width_mm, code.top_width_refused_mm),
            ("angle_deg", need.angle_deg, code.angle_refused_deg),
        ]
    if isinstance(need, RollerNeed):
        return [
            ("diameter_mm", need.diameter_mm, limits.roller_size_mm),
            ("width_mm", need.width_mm, limits.roller_size_mm),
        ]
    if isinstance(need, SpringNeed):
        return _list_spring_nears(position, need)
    if isinstance(need, SizeNeed):
        bore = ("bore_mm", need.bore_mm, limits.envelope_mm)
        is_o_ring = position in O_RING_POSITIONS
        return [bore] if is_o_ring else [bore, ("outside_mm", need.outside_mm, limits.envelope_mm)]
    return []


def _list_spring_nears(position: Position, need: SpringNeed) -> list[tuple[str, float | None, float]]:
    if position is Position.CLUTCH_SPRINGS:
        # Any rating goes in, with a change; the nearest ratings come first.
        return [("rated_rpm", need.rated_rpm, _ANY_RATING_RPM), ("count", need.count, 0.0)]
    if need.outer_space_mm is None or need.inner_space_mm is None:
        return []
    middle_mm = (need.outer_space_mm + need.inner_space_mm) / 2
    return [("coil_mm", middle_mm, abs(need.outer_space_mm - need.inner_space_mm) / 2)]


def _is_near(column: Any, near: Near) -> ColumnElement[bool]:
    reach = near.limit + _ROUNDING
    condition: ColumnElement[bool] = column.between(near.need - reach, near.need + reach)
    return condition
