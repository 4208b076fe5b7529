"""Top speed after the drive pulley or the belt has lost width: worn belt at a hard stop, or a washer."""

from dataclasses import dataclass

from kb.mechanics.belt_length import driven_radius_mm
from kb.mechanics.wedge import groove_radius_change_mm


@dataclass(frozen=True, slots=True)
class LostGap:
    """What lost width costs at full shift, at the same engine speed. ``speed_change_percent`` is "up to"."""

    radius_lost_mm: float
    ratio_before: float
    ratio_after: float
    speed_change_percent: float


def lost_gap(
    centre_distance_mm: float,
    pitch_length_mm: float,
    *,
    full_drive_radius_mm: float,
    angle_deg: float,
    lost_width_mm: float,
) -> LostGap:
    """Ratio and top speed before and after width was lost, the closed gap being a hard stop.

    If the rollers still have travel, the pulley closes further on a narrower belt and the loss is smaller.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        pitch_length_mm: pitch length of the belt [mm].
        full_drive_radius_mm: pitch radius on the drive pulley at full shift before [mm], above 0.
        angle_deg: included groove angle of the drive pulley [deg].
        lost_width_mm: belt width lost, or thickness of a restrictor washer [mm].

    Returns:
        Radius lost, both ratios, and the change of road speed [%], negative for a loss.

    Raises:
        BadInput: no open belt of this length lies on one of the radii.

    Example:
        >>> change = lost_gap(
        ...     260.0, 775.4336, full_drive_radius_mm=44.996, angle_deg=28.0, lost_width_mm=2.0
        ... )
        >>> round(change.speed_change_percent, 1)
        -18.2
    """
    lost_mm = groove_radius_change_mm(lost_width_mm, angle_deg)
    before = _ratio(centre_distance_mm, pitch_length_mm, drive_radius_mm=full_drive_radius_mm)
    after = _ratio(centre_distance_mm, pitch_length_mm, drive_radius_mm=full_drive_radius_mm - lost_mm)
    return LostGap(lost_mm, before, after, (before / after - 1.0) * 100.0)


def _ratio(centre_distance_mm: float, pitch_length_mm: float, *, drive_radius_mm: float) -> float:
    return (
        driven_radius_mm(centre_distance_mm, pitch_length_mm, drive_radius_mm=drive_radius_mm)
        / drive_radius_mm
    )
