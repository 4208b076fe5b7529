"""How gap, belt width and angle move a belt up and down in its groove.

An angle written on a belt or a pulley is the included angle: each flank leans by half of it from the
plane of rotation. Taking the whole for the half would halve every change of radius.

Source: exact geometry of two straight flanks, compared with intersected lines.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import radians, tan

from kb.mechanics.plausible_input import check_between, check_positive


class ContactEdge(StrEnum):
    """Edge of the belt that carries when its angle is not that of the groove."""

    TOP = "top"
    BOTTOM = "bottom"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class FlankMismatch:
    """A belt angle in another groove angle: opening per side at the free edge, and the edge that carries."""

    gap_per_side_mm: float
    contact_edge: ContactEdge


def radius_change_mm(width_change_mm: float, flank_1_deg: float, *, flank_2_deg: float) -> float:
    """Change of the riding radius for a change of belt width (or the opposite change of gap).

    Args:
        width_change_mm: change of top width, or of gap with the sign turned [mm].
        flank_1_deg: angle of one flank from the plane of rotation [deg], 0 to 90, bounds excluded.
        flank_2_deg: angle of the other flank, same.

    Returns:
        Change of radius [mm], positive outwards.

    Raises:
        BadInput: a flank angle out of range.

    Example:
        >>> round(radius_change_mm(-2.0, 14.0, flank_2_deg=14.0), 3)
        -4.011
    """
    check_between("flank_1_deg", flank_1_deg, low=0.0, high=90.0)
    check_between("flank_2_deg", flank_2_deg, low=0.0, high=90.0)
    return width_change_mm / (tan(radians(flank_1_deg)) + tan(radians(flank_2_deg)))


def groove_radius_change_mm(width_change_mm: float, angle_deg: float) -> float:
    """Change of the riding radius in a symmetric groove.

    Args:
        width_change_mm: change of top width, or of gap with the sign turned [mm].
        angle_deg: included groove angle [deg], 0 to 180, bounds excluded.

    Returns:
        Change of radius [mm], positive outwards.

    Raises:
        BadInput: an angle out of range.

    Example:
        >>> round(groove_radius_change_mm(1.0, 30.0), 3)
        1.866
    """
    check_between("angle_deg", angle_deg, low=0.0, high=180.0)
    return width_change_mm / (2.0 * tan(radians(angle_deg / 2.0)))


def washer_radius_change_mm(washer_thickness_mm: float, angle_deg: float) -> float:
    """Change of the drive radius at full shift by a restrictor washer; it acts there only.

    Args:
        washer_thickness_mm: distance by which the washer keeps the halves apart [mm], above 0.
        angle_deg: included groove angle of the drive pulley [deg].

    Returns:
        Change of radius [mm], negative.

    Raises:
        BadInput: a thickness not above 0 or an angle out of range.

    Example:
        >>> round(washer_radius_change_mm(1.0, 28.0), 3)
        -2.005
    """
    check_positive("washer_thickness_mm", washer_thickness_mm)
    return -groove_radius_change_mm(washer_thickness_mm, angle_deg)


def seat_radius_mm(top_width_mm: float, gap_mm: float, *, angle_deg: float, gap_radius_mm: float) -> float:
    """Radius of the belt's top face at a gap.

    Args:
        top_width_mm: width of the belt's top face [mm], above 0.
        gap_mm: axial distance of the flanks [mm], not below 0 in use.
        angle_deg: included groove angle [deg], 0 to 180, bounds excluded.
        gap_radius_mm: radius at which the gap was read [mm].

    Returns:
        Radius of the top face [mm]; take off the cord depth for the pitch radius. Not clipped at the rim.

    Raises:
        BadInput: a width not above 0 or an angle out of range.

    Example:
        >>> round(seat_radius_mm(17.0, 17.75, angle_deg=28.0, gap_radius_mm=48.5), 3)
        46.996
    """
    check_positive("top_width_mm", top_width_mm)
    return gap_radius_mm + groove_radius_change_mm(top_width_mm - gap_mm, angle_deg)


def flank_mismatch(belt_angle_deg: float, groove_angle_deg: float, *, thickness_mm: float) -> FlankMismatch:
    """Opening that a belt of one angle leaves in a groove of another.

    The belt beds in by wearing up to twice this opening off its width.

    Args:
        belt_angle_deg: included belt angle [deg], 0 to 180, bounds excluded.
        groove_angle_deg: included groove angle [deg], same.
        thickness_mm: belt thickness [mm], above 0.

    Returns:
        Opening per side [mm] at the free edge, and the edge that carries.

    Raises:
        BadInput: an angle out of range or a thickness not above 0.

    Example:
        >>> round(flank_mismatch(30.0, 28.0, thickness_mm=9.0).gap_per_side_mm, 2)
        0.17
    """
    check_between("belt_angle_deg", belt_angle_deg, low=0.0, high=180.0)
    check_between("groove_angle_deg", groove_angle_deg, low=0.0, high=180.0)
    check_positive("thickness_mm", thickness_mm)
    lean = tan(radians(belt_angle_deg / 2.0)) - tan(radians(groove_angle_deg / 2.0))
    return FlankMismatch(thickness_mm * abs(lean), _contact_edge(lean))


def _contact_edge(lean: float) -> ContactEdge:
    if lean > 0.0:
        return ContactEdge.TOP
    return ContactEdge.BOTTOM if lean < 0.0 else ContactEdge.BOTH
