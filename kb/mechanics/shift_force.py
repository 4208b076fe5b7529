"""Axial forces in the belt drive and the engine speed at which they hold a position.

Steady running, no friction on ramps and cam, belt not slipping. Real thrust is higher under torque, and
opening and closing differ, so use these speeds to compare two set-ups, not to predict one.

Flank, ramp and plate angles are measured from the plane of rotation, the cam groove from the shaft axis.

Source: roller and belt forces derived in this project and compared with solved force balances and numeric
integrals; half the torque passing through the sliding half of the driven pulley is a common modelling
assumption, from memory.
"""

from dataclasses import dataclass
from math import exp, log, pi, radians, sin, sqrt, tan

from kb.mechanics.belt_length import wrap_angles_rad
from kb.mechanics.plausible_input import check_between, check_not_negative, check_positive
from kb.units import convert_rad_per_s_to_rpm, convert_rpm_to_rad_per_s


@dataclass(frozen=True, slots=True)
class RollerRamps:
    """Rollers between the ramp of the moving half and the ramp plate, at one position of the travel.

    Raises:
        BadInput: a mass or radius not above 0, or angles that do not pinch the roller.
    """

    total_mass_g: float
    roller_radius_mm: float
    ramp_deg: float
    plate_deg: float

    def __post_init__(self) -> None:
        check_positive("total_mass_g", self.total_mass_g)
        check_positive("roller_radius_mm", self.roller_radius_mm)
        check_between("ramp_deg", self.ramp_deg, low=-90.0, high=90.0)
        check_between("plate_deg", self.plate_deg, low=-90.0, high=90.0)
        check_positive("slope of ramp and plate", self.slope)

    @property
    def slope(self) -> float:
        """Axial travel of the moving half per millimetre of roller radius."""
        return tan(radians(self.ramp_deg)) + tan(radians(self.plate_deg))


def roller_axial_force_n(rollers: RollerRamps, speed_rpm: float) -> float:
    """Force [N] with which the rollers close the drive pulley at an engine speed [r/min].

    Example:
        >>> round(roller_axial_force_n(RollerRamps(39.0, 38.0, 28.0, 14.0), 6500.0), 1)
        879.1
    """
    speed = convert_rpm_to_rad_per_s(speed_rpm)
    return _mass_moment(rollers) * speed * speed / rollers.slope


def belt_axial_force_n(tight_n: float, slack_n: float, *, wrap_deg: float, angle_deg: float) -> float:
    """Force with which a belt spreads a pulley, its tension falling exponentially round the wrap.

    Args:
        tight_n: tension of the tight side, less that from its own speed [N], above 0.
        slack_n: tension of the slack side, same [N], above 0.
        wrap_deg: wrap angle [deg], 0 to 360, bounds excluded.
        angle_deg: included groove angle [deg], 0 to 180, bounds excluded.

    Returns:
        Axial force [N]; with equal tensions that of a constant tension.

    Raises:
        BadInput: a tension not above 0 or an angle out of range.

    Example:
        >>> round(belt_axial_force_n(400.0, 120.0, wrap_deg=165.0, angle_deg=28.0))
        1343
    """
    check_positive("tight_n", tight_n)
    check_positive("slack_n", slack_n)
    check_between("wrap_deg", wrap_deg, low=0.0, high=360.0)
    check_between("angle_deg", angle_deg, low=0.0, high=180.0)
    ratio = tight_n / slack_n
    mean_tension = tight_n if abs(ratio - 1.0) < 1e-9 else (tight_n - slack_n) / log(ratio)
    return mean_tension * radians(wrap_deg) / (2.0 * tan(radians(angle_deg / 2.0)))


def cam_axial_force_n(driven_torque_nm: float, helix_deg: float, *, cam_radius_mm: float) -> float:
    """Force with which the torque cam closes the driven pulley, half the torque passing through it.

    Args:
        driven_torque_nm: torque on the driven pulley [N·m].
        helix_deg: angle of the cam groove from the shaft axis [deg], 0 to below 90; 0: no effect.
        cam_radius_mm: radius of the cam pins [mm], above 0.

    Returns:
        Axial force [N].

    Raises:
        BadInput: an angle out of range or a radius not above 0.

    Source:
        from memory: common modelling assumption.

    Example:
        >>> round(cam_axial_force_n(20.0, 40.0, cam_radius_mm=20.0), 1)
        419.5
    """
    check_between("helix_deg", helix_deg, low=-1e-9, high=90.0)
    check_positive("cam_radius_mm", cam_radius_mm)
    return 0.5 * driven_torque_nm * 1000.0 * tan(radians(helix_deg)) / cam_radius_mm


def holding_speed_rpm(
    rollers: RollerRamps,
    driven_force_n: float,
    *,
    centre_distance_mm: float,
    drive_radius_mm: float,
    driven_radius_mm: float,
) -> float:
    """Engine speed at which the rollers just hold a position, with equal mean tension on both pulleys.

    Args:
        rollers: the rollers at this position.
        driven_force_n: spring force plus cam force [N], not below 0.
        centre_distance_mm: distance of the shafts [mm], above 0.
        drive_radius_mm: pitch radius on the drive pulley [mm], above 0.
        driven_radius_mm: pitch radius on the driven pulley [mm], above 0.

    Returns:
        Engine speed [r/min].

    Raises:
        BadInput: a force below 0, or radii that no open belt has.
    """
    check_not_negative("driven_force_n", driven_force_n)
    drive_wrap, driven_wrap = wrap_angles_rad(
        centre_distance_mm, drive_radius_mm, driven_radius_mm=driven_radius_mm
    )
    drive_force = driven_force_n * drive_wrap / driven_wrap
    return convert_rad_per_s_to_rpm(sqrt(drive_force * rollers.slope / _mass_moment(rollers)))


def shift_speed_rpm(speed_rpm: float, mass_before_g: float, *, mass_after_g: float) -> float:
    """Engine speed at the same position with rollers of another mass.

    Not valid for another roller diameter, sliding pieces, other ramps, or flat-spotted rollers.

    Args:
        speed_rpm: engine speed before [r/min].
        mass_before_g: mass of one roller, or of the set, before [g], above 0.
        mass_after_g: the same after [g], above 0.

    Returns:
        Engine speed after [r/min]; lighter rollers raise it.

    Raises:
        BadInput: a mass not above 0.

    Source:
        derived: at the same position and spring force, mass times speed squared stays the same.

    Example:
        >>> round(shift_speed_rpm(6500.0, 7.0, mass_after_g=6.0))
        7021
    """
    return speed_rpm * (1.0 + shift_speed_change_percent(mass_before_g, mass_after_g) / 100.0)


def shift_speed_change_percent(mass_before_g: float, mass_after_g: float) -> float:
    """Change of shift speed [%] for a change of roller mass [g], both above 0.

    Example:
        >>> round(shift_speed_change_percent(7.0, 6.0), 1)
        8.0
    """
    check_positive("mass_before_g", mass_before_g)
    check_positive("mass_after_g", mass_after_g)
    return (sqrt(mass_before_g / mass_after_g) - 1.0) * 100.0


def grip_ratio_limit(friction: float, wrap_deg: float, *, angle_deg: float) -> float:
    """Largest ratio of tight to slack tension (each less that from its own speed) before the belt slips.

    Args:
        friction: coefficient of friction of belt on flank, above 0.
        wrap_deg: wrap angle [deg], 0 to 360, bounds excluded.
        angle_deg: included groove angle [deg], 0 to 180, bounds excluded.

    Returns:
        Ratio, above 1.

    Raises:
        BadInput: a value out of range.

    Source:
        published: belt friction with the wedge effect of a V groove (tribology texts).

    Example:
        >>> round(grip_ratio_limit(0.3, 180.0, angle_deg=180.0 - 1e-9), 4)
        2.5663
    """
    check_positive("friction", friction)
    check_between("wrap_deg", wrap_deg, low=0.0, high=360.0)
    check_between("angle_deg", angle_deg, low=0.0, high=180.0)
    return exp(friction * wrap_deg * pi / 180.0 / sin(radians(angle_deg / 2.0)))


def _mass_moment(rollers: RollerRamps) -> float:
    """Mass times radius of the set [kg·m]."""
    return rollers.total_mass_g * rollers.roller_radius_mm * 1e-6
