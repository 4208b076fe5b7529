"""Two belts compared in the same pulleys: what the machine would notice of the exchange.

What it does not tell: compound, cord and load rating; and the seat: a short and narrow belt can cancel in
the ratios and still sit wrong, which is why the limits by code are weighed beside this answer.

Source: the geometry is exact (see ``drive_range``); every limit is judgement of this project, none is
published; each is a field of ``GeometryLimits``.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from kb.mechanics.belt_code_comparison import PULLEY_GEOMETRY
from kb.mechanics.drive_range import TOLERANCE, Belt, Drive, DriveRange, find_range
from kb.mechanics.fit_class import FitClass


class GeometryReason(StrEnum):
    """Name of each test, as the answer shows it."""

    CANNOT_BE_MOUNTED = "cannot be mounted"
    NEVER_GRIPPED = "never gripped"
    SLACK_AT_FULL_SHIFT = "slack at full shift"
    SLACK_AT_REST = "slack at rest"
    ABOVE_DRIVE_EDGE = "above drive outer edge"
    ABOVE_DRIVEN_EDGE = "above driven outer edge"
    ANGLE_MISMATCH = "flank angle mismatch"
    LOW_RATIO = "low ratio changed"
    HIGH_RATIO = "high ratio changed"
    BOSS = "bottoms on boss"
    DRIVEN_LIMIT = "limited by driven pulley"


@dataclass(frozen=True, slots=True)
class GeometryLimits:
    """Largest values of the classes "same size" and "usable", bounds included.

    All are judgement of this project: 3 % is about 0.3 mm of width or 3 mm of length, the size of ordinary
    rounding; 10 % is about 1 mm of width, most of a normal wear allowance; 6 mm of slack is about 1 mm of
    radius on each pulley. That a new belt may stand slightly proud of the driven rim is common practice,
    no source.
    """

    slack_at_rest_same_mm: float = 1.0
    slack_at_rest_usable_mm: float = 6.0
    drive_edge_same_mm: float = 0.0
    drive_edge_usable_mm: float = 1.0
    driven_edge_same_mm: float = 0.5
    driven_edge_usable_mm: float = 2.0
    angle_same_deg: float = 0.5
    angle_usable_deg: float = 2.0
    ratio_same_percent: float = 3.0
    ratio_usable_percent: float = 10.0


DEFAULT_GEOMETRY_LIMITS = GeometryLimits()


class GeometryFinding(NamedTuple):
    """One test (a tuple, because a thousand candidates make ten of them each).

    Attributes:
        name: the test.
        value: what was found; a ratio change counts both ways and carries its sign.
        limit: the limit that the value passes or, if it passes none, the one that it keeps.
        unit: of value and limit.
        fit_class: what this test alone would say.
    """

    name: GeometryReason
    value: float
    limit: float
    unit: str
    fit_class: FitClass


@dataclass(frozen=True, slots=True)
class GeometryComparison:
    """Answer of a comparison in the drive.

    Attributes:
        fit_class: the worst of the findings.
        findings: every test that could be made, in the order of ``GeometryReason``.
        need_range: where the needed belt runs, None if a size of it is missing.
        asked_range: where the asked belt runs, None if a size of it is missing.
        top_speed_change_percent: at the same engine speed; None if a belt does not drive.
        low_ratio_change_percent: positive: stronger take-off; None if a belt does not drive.
        measure: sizes of the asked belt that are missing, or "pulley geometry" if the drive's numbers
            contradict the belt it is said to need.
        need_measure: sizes of the needed belt that are missing.
    """

    fit_class: FitClass
    findings: tuple[GeometryFinding, ...]
    need_range: DriveRange | None
    asked_range: DriveRange | None
    top_speed_change_percent: float | None = None
    low_ratio_change_percent: float | None = None
    measure: tuple[str, ...] = ()
    need_measure: tuple[str, ...] = ()

    @property
    def reasons(self) -> tuple[str, ...]:
        """Names of the findings that are worse than the same size."""
        return tuple(
            finding.name.value for finding in self.findings if finding.fit_class != FitClass.SAME_SIZE
        )


def list_missing_sizes(belt: Belt) -> tuple[str, ...]:
    """Names of the sizes that a comparison in the drive needs and the belt lacks.

    Example:
        >>> list_missing_sizes(Belt(788.0, 17.0, None, None, 2.0))
        ('included angle', 'thickness')
    """
    sizes = (
        ("outer length", belt.length_mm),
        ("top width", belt.top_width_mm),
        ("included angle", belt.angle_deg),
        ("thickness", belt.thickness_mm),
        ("cord depth", belt.cord_depth_mm),
    )
    return tuple(name for name, size in sizes if size is None)


def compare_in_drive(
    drive: Drive,
    need: Belt,
    asked: Belt,
    limits: GeometryLimits = DEFAULT_GEOMETRY_LIMITS,
    *,
    need_range: DriveRange | None = None,
) -> GeometryComparison:
    """Class of the asked belt in the drive that needs another, with every test and its limit.

    Args:
        drive: the pulleys that both belts run in.
        need: the belt that the drive asks for; its angle is not used.
        asked: the belt at hand.
        limits: largest values of the classes.
        need_range: ``find_range(drive, need)``, if it is at hand; saves computing it for each candidate.

    Returns:
        Class, findings, both ranges and the changes of ratio. "Cannot tell" if a size is missing, or
        if the drive's numbers say that the needed belt itself would not run.

    Raises:
        BadInput: a size that is known is not above 0.

    Source:
        geometry derived in this project; limits are judgement of this project.

    Example:
        >>> from kb.mechanics.drive_range import Pulley
        >>> engine = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
        >>> clutch = Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)
        >>> need = Belt(788.0, 17.0, 28.0, 8.5, 2.0)
        >>> answer = compare_in_drive(Drive(260.0, engine, clutch), need, Belt(788.0, 16.5, 28.0, 8.5, 2.0))
        >>> answer.fit_class.value, answer.reasons, round(answer.top_speed_change_percent, 1)
        ('usable', ('low ratio changed', 'high ratio changed'), -5.0)
    """
    sizes = (asked.length_mm, asked.top_width_mm, asked.angle_deg, asked.thickness_mm, asked.cord_depth_mm)
    missing = list_missing_sizes(asked) if None in sizes else ()
    need_missing: tuple[str, ...] = ()
    if need_range is None:
        need_missing = tuple(name for name in list_missing_sizes(need) if name != "included angle")
        need_range = None if need_missing else find_range(drive, need)
    asked_range = None if missing else find_range(drive, asked)
    if need_range is None or asked_range is None or asked.angle_deg is None:
        return GeometryComparison(
            FitClass.CANNOT_TELL, (), need_range, asked_range, measure=missing, need_measure=need_missing
        )
    if not need_range.is_driving:
        return GeometryComparison(
            FitClass.CANNOT_TELL, (), need_range, asked_range, measure=(PULLEY_GEOMETRY,)
        )
    findings = _judge_position(drive, need_range, asked_range, asked_angle_deg=asked.angle_deg, limits=limits)
    low_change = top_speed_change = None
    if asked_range.is_driving:
        low_change, high_change = _find_ratio_changes(need_range, asked_range)
        top_speed_change = (1.0 / (1.0 + high_change / 100.0) - 1.0) * 100.0
        findings += _judge_travel(
            need_range, asked_range, low_change=low_change, high_change=high_change, limits=limits
        )
    return GeometryComparison(
        _find_worst(findings), tuple(findings), need_range, asked_range, top_speed_change, low_change
    )


def _judge_position(
    drive: Drive, need: DriveRange, asked: DriveRange, *, asked_angle_deg: float, limits: GeometryLimits
) -> list[GeometryFinding]:
    """Tests of where the asked belt lies, made whether it drives or not; the needed belt drives."""
    need_edge_mm = need.driven_edge_mm
    assert need_edge_mm is not None
    slack_same = max(limits.slack_at_rest_same_mm, need.slack_at_rest_mm)
    findings = [
        _require(GeometryReason.CANNOT_BE_MOUNTED, asked.mount_margin_mm, is_met=asked.is_mountable),
        _require(GeometryReason.NEVER_GRIPPED, asked.grip_margin_mm, is_met=asked.is_gripped),
        _require(GeometryReason.SLACK_AT_FULL_SHIFT, asked.slack_at_full_shift_mm, is_met=asked.is_tensioned),
        _grade(
            GeometryReason.SLACK_AT_REST, asked.slack_at_rest_mm, (slack_same, limits.slack_at_rest_usable_mm)
        ),
    ]
    if asked.drive_edge_mm is not None and asked.driven_edge_mm is not None:
        drive_bounds = (limits.drive_edge_same_mm, limits.drive_edge_usable_mm)
        driven_same = max(limits.driven_edge_same_mm, need_edge_mm)
        driven_bounds = (driven_same, limits.driven_edge_usable_mm)
        findings.append(_grade(GeometryReason.ABOVE_DRIVE_EDGE, asked.drive_edge_mm, drive_bounds))
        findings.append(_grade(GeometryReason.ABOVE_DRIVEN_EDGE, asked.driven_edge_mm, driven_bounds))
    mismatch = max(
        abs(asked_angle_deg - drive.drive.angle_deg), abs(asked_angle_deg - drive.driven.angle_deg)
    )
    angle_bounds = (limits.angle_same_deg, limits.angle_usable_deg)
    findings.append(_grade(GeometryReason.ANGLE_MISMATCH, mismatch, angle_bounds, unit="deg"))
    return findings


def _judge_travel(
    need: DriveRange, asked: DriveRange, *, low_change: float, high_change: float, limits: GeometryLimits
) -> list[GeometryFinding]:
    """Tests of the ratios and of what limits them, for belts that both drive."""
    bounds = (limits.ratio_same_percent, limits.ratio_usable_percent)
    has_new_boss_contact = asked.has_boss_contact and not need.has_boss_contact
    has_new_limit = asked.limited_by != need.limited_by
    return [
        _grade(GeometryReason.LOW_RATIO, low_change, bounds, unit="%"),
        _grade(GeometryReason.HIGH_RATIO, high_change, bounds, unit="%"),
        GeometryFinding(
            GeometryReason.BOSS, asked.boss_clearance_mm, 0.0, "mm", _USABLE_IF[has_new_boss_contact]
        ),
        GeometryFinding(
            GeometryReason.DRIVEN_LIMIT, asked.driven_stop_margin_mm, 0.0, "mm", _USABLE_IF[has_new_limit]
        ),
    ]


_USABLE_IF = {True: FitClass.USABLE, False: FitClass.SAME_SIZE}


def _find_ratio_changes(need: DriveRange, asked: DriveRange) -> tuple[float, float]:
    """Change of the low and of the high ratio [%]; both ranges drive, so that all four ratios are known."""
    assert need.ratio_low is not None
    assert need.ratio_high is not None
    assert asked.ratio_low is not None
    assert asked.ratio_high is not None
    return (asked.ratio_low / need.ratio_low - 1.0) * 100.0, (
        asked.ratio_high / need.ratio_high - 1.0
    ) * 100.0


def _require(name: GeometryReason, value: float, *, is_met: bool) -> GeometryFinding:
    return GeometryFinding(name, value, 0.0, "mm", FitClass.SAME_SIZE if is_met else FitClass.DOES_NOT_FIT)


def _grade(
    name: GeometryReason, value: float, bounds: tuple[float, float], *, unit: str = "mm"
) -> GeometryFinding:
    """Class of a value by the bounds of "same size" and "usable"; a change in per cent counts both ways."""
    same, usable = bounds
    size = (abs(value) if unit == "%" else value) - TOLERANCE
    if size <= same:
        return GeometryFinding(name, value, same, unit, FitClass.SAME_SIZE)
    if size <= usable:
        return GeometryFinding(name, value, same, unit, FitClass.USABLE)
    return GeometryFinding(name, value, usable, unit, FitClass.DOES_NOT_FIT)


def _find_worst(findings: list[GeometryFinding]) -> FitClass:
    classes = [finding.fit_class for finding in findings]
    for fit_class in (FitClass.DOES_NOT_FIT, FitClass.USABLE):
        if fit_class in classes:
            return fit_class
    return FitClass.SAME_SIZE
