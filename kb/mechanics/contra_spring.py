"""Contra spring of the driven pulley: rate, force, loss by setting, and coil bind.

Valid for constant pitch, round wire and a spring index (coil over wire diameter) between about 4 and 12.

Source: published: helical compression springs in Shigley, Mechanical Engineering Design (from memory), the
rate checked by integrating the twisting energy of the wire.
"""

from dataclasses import dataclass

from kb.errors import BadInput
from kb.mechanics.plausible_input import check_not_negative, check_positive

DEFAULT_SHEAR_MODULUS_GPA = 78.5
"""Spring steels lie between 77 and 82 GPa (from memory); the middle is judgement of this project."""

DEFAULT_LINEAR_RESERVE = 0.15
"""Share of the working travel to keep free above the solid length (Shigley, from memory)."""

GROUND_END_COILS = 2.0
LOWEST_INDEX = 4.0
HIGHEST_INDEX = 12.0


@dataclass(frozen=True, slots=True)
class CompressionSpring:
    """A helical compression spring with squared and ground ends.

    Attributes:
        wire_mm: wire diameter, above 0.
        mean_coil_mm: mean coil diameter, above the wire diameter.
        active_coils: number of active coils, above 0.
        shear_modulus_gpa: of the wire.
    """

    wire_mm: float
    mean_coil_mm: float
    active_coils: float
    shear_modulus_gpa: float = DEFAULT_SHEAR_MODULUS_GPA

    def __post_init__(self) -> None:
        check_positive("wire_mm", self.wire_mm)
        check_positive("mean_coil_mm", self.mean_coil_mm)
        check_positive("active_coils", self.active_coils)
        check_positive("shear_modulus_gpa", self.shear_modulus_gpa)
        if self.mean_coil_mm <= self.wire_mm:
            raise BadInput(
                f"Mean coil diameter '{self.mean_coil_mm}' mm is not above the wire diameter "
                f"of {self.wire_mm:g} mm; measure the spring again.",
                field="mean_coil_mm",
            )

    @property
    def outer_diameter_mm(self) -> float:
        """Space that the spring needs outside."""
        return self.mean_coil_mm + self.wire_mm

    @property
    def inner_diameter_mm(self) -> float:
        """Space that the spring leaves inside."""
        return self.mean_coil_mm - self.wire_mm

    @property
    def has_usual_index(self) -> bool:
        """Whether the formulas hold: coil over wire diameter between about 4 and 12."""
        return LOWEST_INDEX <= self.mean_coil_mm / self.wire_mm <= HIGHEST_INDEX


def spring_rate_n_per_mm(spring: CompressionSpring) -> float:
    """Rate [N/mm] of a spring.

    Example:
        >>> round(spring_rate_n_per_mm(CompressionSpring(4.0, 52.0, 5.5)), 3)
        3.248
    """
    shear_modulus_mpa = spring.shear_modulus_gpa * 1000.0
    return shear_modulus_mpa * spring.wire_mm**4 / (8.0 * spring.mean_coil_mm**3 * spring.active_coils)


def spring_force_n(rate_n_per_mm: float, free_length_mm: float, *, length_mm: float) -> float:
    """Force [N] of a spring of a rate [N/mm] and free length [mm] at a length [mm]; never below 0.

    Example:
        >>> round(spring_force_n(3.248, 122.0, length_mm=70.0), 1)
        168.9
        >>> spring_force_n(3.248, 60.0, length_mm=70.0)
        0.0
    """
    check_positive("rate_n_per_mm", rate_n_per_mm)
    check_positive("free_length_mm", free_length_mm)
    check_positive("length_mm", length_mm)
    return rate_n_per_mm * max(free_length_mm - length_mm, 0.0)


def preload_loss_percent(free_length_mm: float, length_lost_mm: float, *, length_mm: float) -> float:
    """Share of the force that a spring has lost by setting; greatest at the longest installed length.

    Args:
        free_length_mm: free length when new [mm], above the installed length.
        length_lost_mm: free length lost since [mm], not below 0.
        length_mm: length at which the force is wanted [mm], above 0.

    Returns:
        Loss [%], 100 at most.

    Raises:
        BadInput: a value out of range, or a new spring that has no preload at that length.

    Example:
        >>> round(preload_loss_percent(122.0, 4.0, length_mm=70.0), 2)
        7.69
    """
    check_not_negative("length_lost_mm", length_lost_mm)
    check_positive("length_mm", length_mm)
    if free_length_mm <= length_mm:
        raise BadInput(
            f"Free length '{free_length_mm}' mm is not above the installed length of {length_mm:g} mm; "
            "a new spring would not press there; measure both again.",
            field="free_length_mm",
        )
    return min(length_lost_mm / (free_length_mm - length_mm), 1.0) * 100.0


def clamp_loss_percent(spring_loss_percent: float, spring_force_n: float, *, cam_force_n: float) -> float:
    """Loss of the force that clamps the belt: the cam gives its share undiminished.

    Args:
        spring_loss_percent: loss of the spring alone [%].
        spring_force_n: force of the new spring [N], not below 0.
        cam_force_n: force of the torque cam [N], not below 0; 0 at idle, where the whole loss counts.

    Returns:
        Loss [%].

    Raises:
        BadInput: a force below 0, or no force at all.

    Example:
        >>> round(clamp_loss_percent(7.69, 168.9, cam_force_n=150.0), 2)
        4.07
    """
    check_not_negative("spring_force_n", spring_force_n)
    check_not_negative("cam_force_n", cam_force_n)
    check_positive("force on the belt", spring_force_n + cam_force_n)
    return spring_loss_percent * spring_force_n / (spring_force_n + cam_force_n)


def solid_length_mm(spring: CompressionSpring, *, is_ground: bool = True) -> float:
    """Length [mm] with all coils touching, for squared ends, ground or not.

    Source:
        from memory: Shigley, end types of compression springs.

    Example:
        >>> spring = CompressionSpring(4.0, 52.0, 5.5)
        >>> solid_length_mm(spring), solid_length_mm(spring, is_ground=False)
        (30.0, 34.0)
    """
    coils = spring.active_coils + GROUND_END_COILS + (0.0 if is_ground else 1.0)
    return coils * spring.wire_mm


def is_coil_bound(solid_mm: float, shortest_length_mm: float) -> bool:
    """Whether a spring stops the travel: its solid length [mm] is the shortest working length [mm] or more.

    Example:
        >>> is_coil_bound(30.0, 42.0), is_coil_bound(42.0, 42.0)
        (False, True)
    """
    return solid_mm >= shortest_length_mm


def has_solid_reserve(
    solid_mm: float,
    shortest_length_mm: float,
    *,
    free_length_mm: float,
    reserve: float = DEFAULT_LINEAR_RESERVE,
) -> bool:
    """Whether enough travel is left above the solid length for the spring to stay linear.

    Args:
        solid_mm: solid length [mm].
        shortest_length_mm: shortest working length [mm].
        free_length_mm: free length [mm].
        reserve: share of the working deflection to keep free; the bound itself is enough.

    Returns:
        True if the reserve is there.

    Source:
        from memory: Shigley, linearity reserve of 15 %.

    Example:
        >>> has_solid_reserve(30.0, 42.0, free_length_mm=122.0)
        True
    """
    return shortest_length_mm - solid_mm >= reserve * (free_length_mm - shortest_length_mm) - 1e-9
