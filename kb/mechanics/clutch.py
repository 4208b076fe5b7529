"""Centrifugal clutch: when the shoes move, when they grip, what torque they hold.

Every speed is that of the clutch, which sits on the driven shaft, unless its name says engine. Shoes are
taken to move straight outwards. On pivoted shoes the lever arms multiply the torque by an unknown constant
(about 1 to 2); how engagement and lock-up scale with spring force, mass and friction stays true.

Source: published: textbook centrifugal clutch (Shigley, clutches, from memory), reproduced by published
exercises.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from kb.errors import BadInput
from kb.mechanics.plausible_input import check_not_negative, check_positive
from kb.units import convert_rad_per_s_to_rpm, convert_rpm_to_rad_per_s


@dataclass(frozen=True, slots=True)
class ClutchShoe:
    """One shoe with the springs that act on it.

    Attributes:
        mass_g: mass of the shoe, above 0.
        mass_radius_mm: radius of its mass centre at rest, above 0.
        rest_force_n: pull of its springs at rest, not below 0.
        clearance_mm: way to the drum, not below 0.
        rate_n_per_mm: rate of its springs, not below 0.
    """

    mass_g: float
    mass_radius_mm: float
    rest_force_n: float
    clearance_mm: float = 0.0
    rate_n_per_mm: float = 0.0

    def __post_init__(self) -> None:
        check_positive("mass_g", self.mass_g)
        check_positive("mass_radius_mm", self.mass_radius_mm)
        check_not_negative("rest_force_n", self.rest_force_n)
        check_not_negative("clearance_mm", self.clearance_mm)
        check_not_negative("rate_n_per_mm", self.rate_n_per_mm)

    @property
    def contact_radius_mm(self) -> float:
        """Radius of the mass centre with the shoe on the drum."""
        return self.mass_radius_mm + self.clearance_mm

    @property
    def contact_force_n(self) -> float:
        """Pull of the springs with the shoe on the drum."""
        return self.rest_force_n + self.rate_n_per_mm * self.clearance_mm


@dataclass(frozen=True, slots=True)
class Clutch:
    """Equal shoes in a drum.

    Attributes:
        shoe: one of the shoes.
        shoe_count: how many there are, above 0.
        drum_radius_mm: inner radius of the drum, above 0.
        friction: coefficient of friction of lining on drum, above 0.
    """

    shoe: ClutchShoe
    shoe_count: int
    drum_radius_mm: float
    friction: float

    def __post_init__(self) -> None:
        check_positive("shoe_count", self.shoe_count)
        check_positive("drum_radius_mm", self.drum_radius_mm)
        check_positive("friction", self.friction)


def centrifugal_force_n(mass_g: float, radius_mm: float, *, speed_rpm: float) -> float:
    """Outward force [N] of a mass [g] on a radius [mm] at a speed [r/min].

    Example:
        >>> round(centrifugal_force_n(160.0, 43.5, speed_rpm=1577.77))
        190
    """
    speed = convert_rpm_to_rad_per_s(speed_rpm)
    return mass_g * radius_mm * 1e-6 * speed * speed


def first_movement_rpm(shoe: ClutchShoe) -> float:
    """Clutch speed [r/min] at which the shoe leaves its rest.

    Example:
        >>> round(first_movement_rpm(ClutchShoe(160.0, 42.0, 160.0, 1.5, 20.0)))
        1473
    """
    return _balance_rpm(shoe.rest_force_n, shoe.mass_g, radius_mm=shoe.mass_radius_mm)


def engagement_rpm(shoe: ClutchShoe) -> float:
    """Clutch speed [r/min] at which the shoe touches the drum.

    Example:
        >>> round(engagement_rpm(ClutchShoe(160.0, 42.0, 160.0, 1.5, 20.0)))
        1578
    """
    return _balance_rpm(shoe.contact_force_n, shoe.mass_g, radius_mm=shoe.contact_radius_mm)


def engagement_spread_rpm(shoes: Sequence[ClutchShoe]) -> tuple[float, float]:
    """Lowest and highest engagement speed [r/min] of unequal shoes: the first decides creep, the gap judder.

    Raises:
        BadInput: no shoe.

    Example:
        >>> shoes = [ClutchShoe(160.0, 42.0, force, 1.5, 20.0) for force in (150.0, 160.0)]
        >>> [round(speed) for speed in engagement_spread_rpm(shoes)]
        [1536, 1578]
    """
    if not shoes:
        raise BadInput("Clutch shoes '' are empty; measure at least one shoe.", field="shoes")
    speeds = [engagement_rpm(shoe) for shoe in shoes]
    return min(speeds), max(speeds)


def torque_capacity_nm(clutch: Clutch, speed_rpm: float) -> float:
    """Torque [N·m] that the clutch can hold at a clutch speed [r/min]; exactly 0 up to engagement.

    Example:
        >>> clutch = Clutch(ClutchShoe(160.0, 42.0, 160.0, 1.5, 20.0), 3, 53.5, 0.35)
        >>> round(torque_capacity_nm(clutch, 3000.0), 1), torque_capacity_nm(clutch, 1000.0)
        (27.9, 0.0)
    """
    shoe = clutch.shoe
    outward = centrifugal_force_n(shoe.mass_g, shoe.contact_radius_mm, speed_rpm=speed_rpm)
    return _lever_m(clutch) * max(outward - shoe.contact_force_n, 0.0)


def power_capacity_kw(clutch: Clutch, speed_rpm: float) -> float:
    """Power [kW] that the clutch can hold without slip at a clutch speed [r/min]."""
    return torque_capacity_nm(clutch, speed_rpm) * convert_rpm_to_rad_per_s(speed_rpm) / 1000.0


def lock_up_rpm(clutch: Clutch, torque_nm: float) -> float:
    """Clutch speed at which a torque is held without slip.

    Lower friction leaves the engagement where it is and raises this speed: long slip, heat, judder.

    Args:
        clutch: the clutch.
        torque_nm: torque on the clutch [N·m], not below 0; 0 gives the engagement speed.

    Returns:
        Clutch speed [r/min].

    Raises:
        BadInput: a torque below 0.
    """
    check_not_negative("torque_nm", torque_nm)
    needed = clutch.shoe.contact_force_n + torque_nm / _lever_m(clutch)
    return _balance_rpm(needed, clutch.shoe.mass_g, radius_mm=clutch.shoe.contact_radius_mm)


def engine_speed_at_engagement_rpm(clutch_engagement_rpm: float, ratio_low: float) -> float:
    """Engine speed [r/min] at which the clutch engages, through the take-off ratio.

    Example:
        >>> round(engine_speed_at_engagement_rpm(1600.0, 2.5))
        4000
    """
    check_positive("ratio_low", ratio_low)
    return clutch_engagement_rpm * ratio_low


def is_creeping(idle_rpm: float, ratio_low: float, *, clutch_engagement_rpm: float) -> bool:
    """Whether the clutch already grips at idle; at exactly the engagement speed it does.

    Args:
        idle_rpm: idle speed of the engine [r/min].
        ratio_low: take-off ratio, above 0.
        clutch_engagement_rpm: engagement speed of the clutch [r/min], of the lowest shoe.

    Returns:
        True if the machine creeps.

    Raises:
        BadInput: a ratio not above 0.

    Example:
        >>> is_creeping(1700.0, 2.5, clutch_engagement_rpm=1578.0)
        False
    """
    check_positive("ratio_low", ratio_low)
    return idle_rpm / ratio_low >= clutch_engagement_rpm


def engagement_after_force_change_rpm(
    speed_rpm: float, force_before_n: float, *, force_after_n: float
) -> float:
    """Engagement speed with other springs on the same shoes; clutch or engine speed, as given.

    Args:
        speed_rpm: engagement speed before [r/min].
        force_before_n: spring force at engagement before [N], above 0.
        force_after_n: spring force at engagement after [N], above 0.

    Returns:
        Engagement speed after [r/min], of the same kind.

    Raises:
        BadInput: a force not above 0.

    Example:
        >>> round(engagement_after_force_change_rpm(3000.0, 100.0, force_after_n=130.0))
        3421
    """
    check_positive("force_before_n", force_before_n)
    check_positive("force_after_n", force_after_n)
    return speed_rpm * sqrt(force_after_n / force_before_n)


def engagement_after_rating_change_rpm(
    speed_rpm: float, rating_before_rpm: float, *, rating_after_rpm: float
) -> float:
    """Engagement speed with springs of another rating on the same clutch.

    A rating is a nominal label on one reference clutch and means nothing alone; ±10 % at best (judgement
    of this project).

    Args:
        speed_rpm: engagement speed measured with the fitted springs [r/min].
        rating_before_rpm: rating of the fitted springs [r/min], above 0.
        rating_after_rpm: rating of the new springs [r/min], above 0.

    Returns:
        Engagement speed after [r/min], of the kind that was measured.

    Raises:
        BadInput: a rating not above 0.

    Source:
        common practice, no source.

    Example:
        >>> engagement_after_rating_change_rpm(2900.0, 1000.0, rating_after_rpm=1500.0)
        4350.0
    """
    check_positive("rating_before_rpm", rating_before_rpm)
    check_positive("rating_after_rpm", rating_after_rpm)
    return speed_rpm * rating_after_rpm / rating_before_rpm


def _balance_rpm(force_n: float, mass_g: float, *, radius_mm: float) -> float:
    """Speed [r/min] at which a mass on a radius pulls with that force."""
    return convert_rad_per_s_to_rpm(sqrt(force_n / (mass_g * radius_mm * 1e-6)))


def _lever_m(clutch: Clutch) -> float:
    """Torque per newton of normal force of one shoe [m]."""
    return clutch.shoe_count * clutch.friction * clutch.drum_radius_mm / 1000.0
