"""Decisions of persons against the figures as data."""

from typing import Any

from kb.lookups.judgement import DemandDay, LeftOut, LevelByHand


def shape_level_by_hand(level: LevelByHand) -> dict[str, Any]:
    """A level set by hand; ``location`` null = for the shop as one."""
    return {
        "maker": level.maker,
        "part_number": level.part_number,
        "location": level.location,
        "level": level.level,
        "why": level.why,
        "made_by": level.made_by,
        "made_at": level.made_at_utc.isoformat(),
    }


def shape_demand_day(item: DemandDay) -> dict[str, Any]:
    """A day on which a part was asked for."""
    return {
        "day": item.day.isoformat(),
        "location": item.location,
        "asked": item.asked,
        "left_out": item.left_out,
        "counted": item.counted,
    }


def shape_left_out(item: LeftOut) -> dict[str, Any]:
    """Pieces that a person left out of the demand."""
    return {
        "exclusion": item.id,
        "day": item.day.isoformat(),
        "location": item.location,
        "quantity": item.quantity,
        "why": item.why,
        "made_by": item.made_by,
        "made_at": item.made_at_utc.isoformat(),
    }
