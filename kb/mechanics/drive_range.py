"""Range of a belt in given pulleys: ratio at take-off and at full shift, and what may stop it on the way.

At rest the contra spring closes the driven pulley and the belt pulls the drive pulley open. At full shift
the rollers close the drive pulley and the belt pulls the driven pulley open. A pulley's closed gap is the
smallest gap reached in use: boss contact, washer or end of roller travel, whichever comes first.

Not in the model: slip, bending and the little that the belt sinks under load. Differences between two
belts in the same pulleys are good to about 0.2 percentage points; the absolute ratio is only as good as the
measured centre distance and gaps (1 mm of centre distance moves the top ratio by about 1.8 %).

Source: geometry derived in this project, compared with root-found seats and the perimeter of convex hulls.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import radians, tan
from typing import NamedTuple

from kb.errors import BadInput
from kb.mechanics.belt_length import hull_length_mm, other_radius_mm, pitch_length_mm
from kb.mechanics.plausible_input import check_between, check_not_negative, check_positive

TOLERANCE = 1e-9
"""Slack of every comparison with a bound, so that a value computed as equal counts as equal."""


class RestLimit(StrEnum):
    """What sets the position at rest."""

    DRIVE_OPEN = "drive pulley fully open"
    DRIVEN_CLOSED = "driven pulley fully closed"


class FullShiftLimit(StrEnum):
    """What ends the travel at full shift."""

    DRIVE_CLOSED = "drive pulley fully closed"
    DRIVEN_OPEN = "driven pulley fully open"


@dataclass(frozen=True, slots=True)
class Pulley:
    """Two flanks on a shaft; the gaps are read between the flanks at ``gap_radius_mm``.

    Raises:
        BadInput: a size not above 0, an angle outside 0 to 180, or a closed gap wider than the open one.
    """

    angle_deg: float
    outer_radius_mm: float
    boss_radius_mm: float
    gap_radius_mm: float
    gap_open_mm: float
    gap_closed_mm: float

    def __post_init__(self) -> None:
        check_between("angle_deg", self.angle_deg, low=0.0, high=180.0)
        check_positive("outer_radius_mm", self.outer_radius_mm)
        check_positive("boss_radius_mm", self.boss_radius_mm)
        check_positive("gap_radius_mm", self.gap_radius_mm)
        check_not_negative("gap_open_mm", self.gap_open_mm)
        check_not_negative("gap_closed_mm", self.gap_closed_mm)
        if self.gap_closed_mm > self.gap_open_mm:
            raise BadInput(
                f"Gap closed '{self.gap_closed_mm}' mm is wider than gap open '{self.gap_open_mm}' mm; "
                "exchange the two or measure them again.",
                field="gap_closed_mm",
            )


@dataclass(frozen=True, slots=True)
class Drive:
    """Two pulleys at a centre distance.

    Raises:
        BadInput: a centre distance not above 0.
    """

    centre_distance_mm: float
    drive: Pulley
    driven: Pulley

    def __post_init__(self) -> None:
        check_positive("centre_distance_mm", self.centre_distance_mm)


@dataclass(frozen=True, slots=True)
class Belt:
    """A belt; the length is the outside length. A size not known is None and is never filled in here."""

    length_mm: float | None
    top_width_mm: float | None
    angle_deg: float | None
    thickness_mm: float | None
    cord_depth_mm: float | None


@dataclass(frozen=True, slots=True)
class DriveRange:
    """Where a belt runs in a drive.

    Radii are pitch radii; they are None if the belt cannot be mounted. Ratios are driven over drive radius;
    they are None if the belt does not drive at all (see ``is_driving``). If it is slack at full shift, the
    radii are those of the pulleys at their stops, with the belt loose between them.

    Attributes:
        ratio_low: ratio at take-off.
        ratio_high: ratio at full shift.
        drive_radius_low_mm: drive radius at rest.
        driven_radius_low_mm: driven radius at rest.
        drive_radius_high_mm: drive radius at full shift.
        driven_radius_high_mm: driven radius at full shift.
        mount_margin_mm: length to spare with both pulleys open; negative: cannot be mounted.
        slack_at_rest_mm: length that the closed driven pulley cannot take up at rest, 0 or more.
        slack_at_full_shift_mm: length that both closed pulleys cannot take up, 0 or more.
        driven_stop_margin_mm: length to spare before the driven pulley is fully open at full shift;
            negative: the drive pulley cannot close.
        drive_edge_mm: belt's top face above the drive rim at full shift; positive: proud.
        driven_edge_mm: belt's top face above the driven rim at rest; positive: proud.
        boss_clearance_mm: belt's underside above the drive boss at rest; negative: bottoms on the boss.
        grip_margin_mm: belt's underside above the drive boss with the drive closed; negative: never gripped.
        rest_limit: what sets the position at rest, None if the belt cannot be mounted.
        limited_by: what ends the travel at full shift, None if the belt does not drive.
    """

    ratio_low: float | None
    ratio_high: float | None
    drive_radius_low_mm: float | None
    driven_radius_low_mm: float | None
    drive_radius_high_mm: float | None
    driven_radius_high_mm: float | None
    mount_margin_mm: float
    slack_at_rest_mm: float
    slack_at_full_shift_mm: float
    driven_stop_margin_mm: float
    drive_edge_mm: float | None
    driven_edge_mm: float | None
    boss_clearance_mm: float
    grip_margin_mm: float
    rest_limit: RestLimit | None
    limited_by: FullShiftLimit | None

    @property
    def is_mountable(self) -> bool:
        """Whether the belt goes over both open pulleys."""
        return self.mount_margin_mm >= -TOLERANCE

    @property
    def is_gripped(self) -> bool:
        """Whether the drive pulley ever closes on the belt."""
        return self.grip_margin_mm >= -TOLERANCE

    @property
    def is_tensioned(self) -> bool:
        """Whether the belt is tight at full shift."""
        return self.slack_at_full_shift_mm <= TOLERANCE

    @property
    def is_driving(self) -> bool:
        """Whether the belt can be mounted, is gripped and gets tight; only then is there a ratio."""
        return self.limited_by is not None

    @property
    def has_boss_contact(self) -> bool:
        """Whether the belt bottoms on the drive boss at rest."""
        return self.boss_clearance_mm < -TOLERANCE


def find_range(drive: Drive, belt: Belt) -> DriveRange:
    """Range of a belt in a drive, with every limit state; a belt that does not run is an answer, no error.

    Args:
        drive: the pulleys and their centre distance.
        belt: the belt; the angle is not used here and may be None.

    Returns:
        Radii, ratios and margins.

    Raises:
        BadInput: length, top width, thickness or cord depth is missing or not above 0.

    Example:
        >>> engine = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
        >>> clutch = Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)
        >>> span = find_range(Drive(260.0, engine, clutch), Belt(788.0, 17.0, 28.0, 8.5, 2.0))
        >>> round(span.ratio_low, 3), round(span.ratio_high, 3)
        (2.512, 0.805)
        >>> find_range(Drive(260.0, engine, clutch), Belt(700.0, 17.0, 28.0, 8.5, 2.0)).is_mountable
        False
    """
    pitch_length, seats = _find_seats(drive, belt)
    centre = drive.centre_distance_mm
    mount_margin = pitch_length - hull_length_mm(centre, seats.drive_open, driven_radius_mm=seats.driven_open)
    rest_slack = pitch_length - hull_length_mm(centre, seats.drive_open, driven_radius_mm=seats.driven_closed)
    full_slack = pitch_length - hull_length_mm(
        centre, seats.drive_closed, driven_radius_mm=seats.driven_closed
    )
    driven_stop = pitch_length - hull_length_mm(
        centre, seats.drive_closed, driven_radius_mm=seats.driven_open
    )
    rest = full = None
    ratio_low = ratio_high = drive_edge = driven_edge = None
    is_driving = False
    if mount_margin >= -TOLERANCE:
        is_driving = full_slack <= TOLERANCE and seats.grip_margin >= -TOLERANCE
        rest = _position_at_rest(
            centre, pitch_length, seats=seats, slack=rest_slack, slack_at_full=full_slack
        )
        full = _position_at_full_shift(
            centre, pitch_length, seats=seats, slack=full_slack, driven_stop=driven_stop
        )
        drive_edge = full[0] + seats.cord_depth - drive.drive.outer_radius_mm
        driven_edge = rest[1] + seats.cord_depth - drive.driven.outer_radius_mm
        if is_driving:
            ratio_low, ratio_high = rest[1] / rest[0], full[1] / full[0]
    return DriveRange(
        ratio_low=ratio_low,
        ratio_high=ratio_high,
        drive_radius_low_mm=rest[0] if rest else None,
        driven_radius_low_mm=rest[1] if rest else None,
        drive_radius_high_mm=full[0] if full else None,
        driven_radius_high_mm=full[1] if full else None,
        mount_margin_mm=mount_margin,
        slack_at_rest_mm=max(rest_slack, 0.0),
        slack_at_full_shift_mm=max(full_slack, 0.0),
        driven_stop_margin_mm=driven_stop,
        drive_edge_mm=drive_edge,
        driven_edge_mm=driven_edge,
        boss_clearance_mm=seats.boss_clearance,
        grip_margin_mm=seats.grip_margin,
        rest_limit=rest[2] if rest else None,
        limited_by=full[2] if full and is_driving else None,
    )


def drive_with_washer(drive: Drive, washer_thickness_mm: float) -> Drive:
    """The drive with a restrictor washer, which keeps the drive pulley further open at full shift.

    Args:
        drive: the drive without the washer.
        washer_thickness_mm: distance by which the washer keeps the halves apart [mm], above 0.

    Returns:
        The drive whose drive pulley closes less far; take-off is untouched.

    Raises:
        BadInput: a thickness not above 0, or so thick that the pulley could not close at all.

    Example:
        >>> small = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
        >>> drive_with_washer(Drive(260.0, small, small), 2.0).drive.gap_closed_mm
        19.75
    """
    check_positive("washer_thickness_mm", washer_thickness_mm)
    closed_mm = drive.drive.gap_closed_mm + washer_thickness_mm
    return replace(drive, drive=replace(drive.drive, gap_closed_mm=closed_mm))


def has_touching_pulleys(drive: Drive) -> bool:
    """Whether the rims would collide or touch, a sign that a radius or the centre distance was misread.

    Example:
        >>> small = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
        >>> has_touching_pulleys(Drive(97.0, small, small)), has_touching_pulleys(Drive(98.0, small, small))
        (True, False)
    """
    return drive.drive.outer_radius_mm + drive.driven.outer_radius_mm >= drive.centre_distance_mm


class _Seats(NamedTuple):
    """Pitch radii with the pulleys at their stops, and the two margins over the drive boss."""

    drive_open: float
    drive_closed: float
    driven_open: float
    driven_closed: float
    cord_depth: float
    boss_clearance: float
    grip_margin: float


def _find_seats(drive: Drive, belt: Belt) -> tuple[float, _Seats]:
    """Pitch length and seats of the belt. The driven pulley is never clipped at its boss when closed."""
    length, width, thickness, cord_depth = _known_sizes(belt)
    engine, clutch = drive.drive, drive.driven
    engine_factor = 0.5 / tan(radians(0.5 * engine.angle_deg))
    clutch_factor = 0.5 / tan(radians(0.5 * clutch.angle_deg))
    engine_boss = engine.boss_radius_mm + thickness
    top_open = engine.gap_radius_mm + (width - engine.gap_open_mm) * engine_factor
    top_closed = engine.gap_radius_mm + (width - engine.gap_closed_mm) * engine_factor
    clutch_open = clutch.gap_radius_mm + (width - clutch.gap_open_mm) * clutch_factor
    return pitch_length_mm(length, cord_depth), _Seats(
        max(top_open, engine_boss) - cord_depth,
        max(top_closed, engine_boss) - cord_depth,
        max(clutch_open, clutch.boss_radius_mm + thickness) - cord_depth,
        clutch.gap_radius_mm + (width - clutch.gap_closed_mm) * clutch_factor - cord_depth,
        cord_depth,
        top_open - engine_boss,
        top_closed - engine_boss,
    )


def _known_sizes(belt: Belt) -> tuple[float, float, float, float]:
    return (
        _known_size("length_mm", belt.length_mm),
        _known_size("top_width_mm", belt.top_width_mm),
        _known_size("thickness_mm", belt.thickness_mm),
        _known_size("cord_depth_mm", belt.cord_depth_mm),
    )


def _known_size(field: str, size: float | None) -> float:
    if size is None:
        raise BadInput(f"Belt size '{field}' is not known; measure it.", field=field)
    check_positive(field, size)
    return size


def _position_at_rest(
    centre: float, pitch_length: float, *, seats: _Seats, slack: float, slack_at_full: float
) -> tuple[float, float, RestLimit]:
    """Drive and driven radius at rest, and what sets them."""
    if slack <= TOLERANCE:
        driven_radius = other_radius_mm(centre, pitch_length, radius_mm=seats.drive_open)
        return seats.drive_open, driven_radius, RestLimit.DRIVE_OPEN
    if slack_at_full > TOLERANCE:
        return seats.drive_open, seats.driven_closed, RestLimit.DRIVEN_CLOSED
    drive_radius = other_radius_mm(centre, pitch_length, radius_mm=seats.driven_closed)
    return drive_radius, seats.driven_closed, RestLimit.DRIVEN_CLOSED


def _position_at_full_shift(
    centre: float, pitch_length: float, *, seats: _Seats, slack: float, driven_stop: float
) -> tuple[float, float, FullShiftLimit]:
    """Drive and driven radius at full shift, and what ends the travel."""
    if slack > TOLERANCE:
        return seats.drive_closed, seats.driven_closed, FullShiftLimit.DRIVE_CLOSED
    if driven_stop < -TOLERANCE:
        drive_radius = other_radius_mm(centre, pitch_length, radius_mm=seats.driven_open)
        return drive_radius, seats.driven_open, FullShiftLimit.DRIVEN_OPEN
    driven_radius = other_radius_mm(centre, pitch_length, radius_mm=seats.drive_closed)
    return seats.drive_closed, driven_radius, FullShiftLimit.DRIVE_CLOSED
