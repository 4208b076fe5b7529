"""The belt needed (dashed) and the belt asked about (solid) in the pulleys of an engine, to scale.

Two kinds of picture: a cross-section of each pulley at rest and at full shift, with the shaft below and
the radius upwards; and the belt's pitch line round both pulleys, seen along the shafts. What is drawn is
what ``kb.mechanics`` computed; nothing is computed here but where points lie.

The left flank stands still in the picture, so that the other one shows how far the pulley opens. How
thick a flank is drawn says nothing.
"""

from dataclasses import dataclass
from math import acos, cos, radians, sin, tan

from api.drawings.picture import Label, Picture, Point, Stroke, draw_circle, draw_line, say_mm
from kb.lookups.belt_drive import BeltDrive, BeltRun
from kb.mechanics.drive_range import Drive, Pulley

_MARGIN_MM = 3.0
_FLANK_MM = 2.5
_TICK_STEP_MM = 10
_SCALE_BAR_MM = 50.0
_SEATED_MM = 1e-6
NEED, ASKED = "need", "asked"


@dataclass(frozen=True, slots=True)
class _Seat:
    """A belt in one pulley at one end of the travel."""

    run: BeltRun
    pitch_radius_mm: float
    style: str

    @property
    def top_radius_mm(self) -> float:
        return self.pitch_radius_mm + (self.run.belt.cord_depth_mm or 0.0)


def draw_belt_drive(found: BeltDrive) -> tuple[Picture, ...]:
    """Pictures of both belts: four cross-sections, then the belt line at rest and at full shift.

    A belt that cannot be mounted has no place in the pulleys and is not drawn; the description says so.
    """
    sections = [
        _draw_section(found, pulley_name, end)
        for end in ("rest", "full shift")
        for pulley_name in ("drive", "driven")
    ]
    return (*sections, _draw_line_of(found, "rest"), _draw_line_of(found, "full shift"))


def _list_runs(found: BeltDrive) -> list[tuple[BeltRun, str]]:
    runs = [(found.need, NEED)]
    if found.asked is not None:
        runs.append((found.asked, ASKED))
    return runs


def _find_radius(run: BeltRun, pulley_name: str, end: str) -> float | None:
    span = run.span
    if end == "rest":
        return span.drive_radius_low_mm if pulley_name == "drive" else span.driven_radius_low_mm
    return span.drive_radius_high_mm if pulley_name == "drive" else span.driven_radius_high_mm


def _name_end(end: str) -> str:
    return "at rest" if end == "rest" else "at full shift"


def _name_pulley(pulley_name: str) -> str:
    return "Front pulley" if pulley_name == "drive" else "Rear pulley"


def _draw_section(found: BeltDrive, pulley_name: str, end: str) -> Picture:
    pulley = found.drive.drive if pulley_name == "drive" else found.drive.driven
    seats = [
        _Seat(run, radius, style)
        for run, style in _list_runs(found)
        if (radius := _find_radius(run, pulley_name, end)) is not None
    ]
    gaps = [_find_gap(pulley, seat) for seat in seats]
    strokes = [_draw_fixed_flank(pulley), _draw_boss(pulley, max(gaps))]
    # The dashed belt lies on top, so that it is seen where both coincide.
    for seat, gap_mm in reversed(list(zip(seats, gaps, strict=True))):
        strokes.append(_draw_moving_flank(pulley, gap_mm, seat.style))
        strokes.append(_draw_belt(pulley, seat))
    left = _find_face_x(pulley, pulley.outer_radius_mm) - _FLANK_MM - 9.0
    # Every section of a pulley is as wide as the pulley fully open, so that all have one scale.
    right = pulley.gap_open_mm - _find_face_x(pulley, pulley.outer_radius_mm) + _FLANK_MM + _MARGIN_MM
    top = pulley.outer_radius_mm + 5.0
    bottom = pulley.boss_radius_mm - 4.0
    title = f"{_name_pulley(pulley_name)} {_name_end(end)}"
    caption = _say_radii(found, pulley_name, end)
    return Picture(
        key=f"section-{pulley_name}-{end.replace(' ', '-')}",
        title=title,
        description=f"Cross-section to scale. {caption}",
        caption=caption,
        corner=Point(left, -top),
        width_mm=right - left,
        height_mm=top - bottom,
        strokes=(*strokes, *_draw_ticks(pulley, left)),
        labels=_label_ticks(pulley, left),
    )


def _find_lean(pulley: Pulley) -> float:
    return tan(radians(pulley.angle_deg / 2))


def _find_face_x(pulley: Pulley, radius_mm: float) -> float:
    """Where the fixed flank lies at a radius; 0 at the radius where gaps are read."""
    return -(radius_mm - pulley.gap_radius_mm) * _find_lean(pulley)


def _find_gap(pulley: Pulley, seat: _Seat) -> float:
    """Gap between the flanks, read where this pulley's gaps are read.

    Flanks touch the belt, except where it lies on the boss of a pulley that is open as far as it goes.
    """
    width_mm = seat.run.belt.top_width_mm or 0.0
    touching_mm = width_mm - 2 * (seat.top_radius_mm - pulley.gap_radius_mm) * _find_lean(pulley)
    lies_on_boss = (
        seat.top_radius_mm - (seat.run.belt.thickness_mm or 0.0) <= pulley.boss_radius_mm + _SEATED_MM
    )
    if lies_on_boss and touching_mm < pulley.gap_open_mm:
        return pulley.gap_open_mm
    return touching_mm


def _draw_fixed_flank(pulley: Pulley) -> Stroke:
    inner, outer = pulley.boss_radius_mm, pulley.outer_radius_mm
    points = [
        Point(_find_face_x(pulley, inner), -inner),
        Point(_find_face_x(pulley, outer), -outer),
        Point(_find_face_x(pulley, outer) - _FLANK_MM, -outer),
        Point(_find_face_x(pulley, inner) - _FLANK_MM, -inner),
    ]
    return Stroke(draw_line(points, is_closed=True), "flank")


def _draw_moving_flank(pulley: Pulley, gap_mm: float, style: str) -> Stroke:
    inner, outer = pulley.boss_radius_mm, pulley.outer_radius_mm
    points = [
        Point(gap_mm - _find_face_x(pulley, inner), -inner),
        Point(gap_mm - _find_face_x(pulley, outer), -outer),
        Point(gap_mm - _find_face_x(pulley, outer) + _FLANK_MM, -outer),
        Point(gap_mm - _find_face_x(pulley, inner) + _FLANK_MM, -inner),
    ]
    return Stroke(draw_line(points, is_closed=True), f"flank moving {style}")


def _draw_boss(pulley: Pulley, gap_mm: float) -> Stroke:
    radius = pulley.boss_radius_mm
    left = _find_face_x(pulley, radius) - _FLANK_MM
    right = gap_mm - _find_face_x(pulley, radius) + _FLANK_MM
    return Stroke(draw_line([Point(left, -radius), Point(right, -radius)]), "boss")


def _draw_belt(pulley: Pulley, seat: _Seat) -> Stroke:
    belt = seat.run.belt
    width_mm, thickness_mm = belt.top_width_mm or 0.0, belt.thickness_mm or 0.0
    angle_deg = belt.angle_deg if belt.angle_deg is not None else pulley.angle_deg
    inset_mm = thickness_mm * tan(radians(angle_deg / 2))
    left, top = _find_face_x(pulley, seat.top_radius_mm), seat.top_radius_mm
    points = [
        Point(left, -top),
        Point(left + width_mm, -top),
        Point(left + width_mm - inset_mm, -(top - thickness_mm)),
        Point(left + inset_mm, -(top - thickness_mm)),
    ]
    return Stroke(draw_line(points, is_closed=True), f"belt {seat.style}")


def _list_ticks(pulley: Pulley) -> range:
    first = -int(-(pulley.boss_radius_mm - 3.0) // _TICK_STEP_MM) * _TICK_STEP_MM
    return range(first, int(pulley.outer_radius_mm) + 1, _TICK_STEP_MM)


def _draw_ticks(pulley: Pulley, left: float) -> tuple[Stroke, ...]:
    return tuple(
        Stroke(draw_line([Point(left + 5.5, -radius), Point(left + 7.5, -radius)]), "tick")
        for radius in _list_ticks(pulley)
    )


def _label_ticks(pulley: Pulley, left: float) -> tuple[Label, ...]:
    return tuple(
        Label(Point(left + 5.0, -radius + 1.0), str(radius), "end") for radius in _list_ticks(pulley)
    )


def _say_radii(found: BeltDrive, pulley_name: str, end: str) -> str:
    said = []
    for run, style in _list_runs(found):
        radius = _find_radius(run, pulley_name, end)
        who = "Needed belt" if style == NEED else "Belt asked about"
        if radius is None:
            said.append(f"{who}: cannot be mounted, not drawn.")
        else:
            said.append(f"{who}: pitch radius {radius:.1f} mm.")
    return " ".join(said)


def _draw_line_of(found: BeltDrive, end: str) -> Picture:
    drive = found.drive
    rear = Point(drive.centre_distance_mm, 0.0)
    strokes = [
        Stroke(draw_circle(Point(0.0, 0.0), drive.drive.outer_radius_mm), "rim"),
        Stroke(draw_circle(rear, drive.driven.outer_radius_mm), "rim"),
        Stroke(draw_circle(Point(0.0, 0.0), drive.drive.boss_radius_mm), "rim"),
        Stroke(draw_circle(rear, drive.driven.boss_radius_mm), "rim"),
    ]
    for run, style in reversed(_list_runs(found)):
        radii = _find_radius(run, "drive", end), _find_radius(run, "driven", end)
        if radii[0] is not None and radii[1] is not None:
            path = draw_belt_line(drive.centre_distance_mm, radii[0], driven_radius_mm=radii[1])
            strokes.append(Stroke(path, f"line {style}"))
    largest = max(drive.drive.outer_radius_mm, drive.driven.outer_radius_mm)
    left = -drive.drive.outer_radius_mm - _MARGIN_MM
    caption = _say_ratios(found, end)
    return Picture(
        key=f"line-{end.replace(' ', '-')}",
        title=f"Belt line {_name_end(end)}",
        description=f"Side view to scale, centres {drive.centre_distance_mm:g} mm apart. {caption}",
        caption=caption,
        corner=Point(left, -largest - _MARGIN_MM),
        width_mm=drive.centre_distance_mm + drive.driven.outer_radius_mm + _MARGIN_MM - left,
        height_mm=2 * largest + _MARGIN_MM + 14.0,
        strokes=(*strokes, *_draw_scale_bar(drive, largest)),
        labels=(
            Label(Point(0.0, largest + 11.0), "front"),
            Label(Point(rear.x, largest + 11.0), "rear"),
            Label(Point(drive.centre_distance_mm / 2, largest + 11.0), f"{_SCALE_BAR_MM:g} mm"),
        ),
    )


def _draw_scale_bar(drive: Drive, largest: float) -> tuple[Stroke, ...]:
    middle, y = drive.centre_distance_mm / 2, largest
    left, right = middle - _SCALE_BAR_MM / 2, middle + _SCALE_BAR_MM / 2
    return (
        Stroke(draw_line([Point(left, y), Point(right, y)]), "tick"),
        Stroke(draw_line([Point(left, y - 2), Point(left, y + 2)]), "tick"),
        Stroke(draw_line([Point(right, y - 2), Point(right, y + 2)]), "tick"),
    )


def draw_belt_line(centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float) -> str:
    """Closed path of a belt round two circles: two outer tangents and two arcs.

    Source: exact geometry of the outer tangents of two circles.
    """
    turn = acos((drive_radius_mm - driven_radius_mm) / centre_distance_mm)
    front = Point(drive_radius_mm * cos(turn), drive_radius_mm * sin(turn))
    rear = Point(centre_distance_mm + driven_radius_mm * cos(turn), driven_radius_mm * sin(turn))
    drive, driven = say_mm(drive_radius_mm), say_mm(driven_radius_mm)
    is_drive_larger = drive_radius_mm > driven_radius_mm
    return (
        f"M{say_mm(front.x)} {say_mm(-front.y)}L{say_mm(rear.x)} {say_mm(-rear.y)}"
        f"A{driven} {driven} 0 {int(not is_drive_larger)} 1 {say_mm(rear.x)} {say_mm(rear.y)}"
        f"L{say_mm(front.x)} {say_mm(front.y)}"
        f"A{drive} {drive} 0 {int(is_drive_larger)} 1 {say_mm(front.x)} {say_mm(-front.y)}Z"
    )


def _say_ratios(found: BeltDrive, end: str) -> str:
    said = []
    for run, style in _list_runs(found):
        who = "Needed belt" if style == NEED else "Belt asked about"
        ratio = run.span.ratio_low if end == "rest" else run.span.ratio_high
        said.append(f"{who}: {_say_ratio(run, ratio)}")
    return " ".join(said)


def _say_ratio(run: BeltRun, ratio: float | None) -> str:
    if not run.span.is_mountable:
        return "cannot be mounted, not drawn."
    if ratio is None:
        return "does not drive; drawn with the pulleys at their stops."
    return f"ratio {ratio:.2f}."
