"""Where a worn belt now rides: a groove with the belt when new (dashed) and the belt as measured (solid).

To scale in mm. Both belts touch both flanks; the shaft lies below. The groove is drawn with the gap at which
the new belt's top stands at the height marked 0.
"""

from math import radians, tan

from api.drawings.picture import Label, Picture, Point, Stroke, draw_line
from kb.mechanics.wedge import groove_radius_change_mm
from kb.rules.said_figures import say_mm

_FLANK_MM = 2.5
_ABOVE_MM = 4.0
_DEFAULT_HEIGHT_MM = 8.0


def draw_ride(
    new_width_mm: float, width_mm: float, *, angle_deg: float, height_mm: float | None = None
) -> Picture:
    """A groove with both belts.

    Args:
        new_width_mm: top width when new [mm].
        width_mm: top width as measured [mm].
        angle_deg: included angle of the groove [deg].
        height_mm: height of the belt [mm]; one that is not known is drawn as 8 mm and not said.
    """
    height = height_mm or _DEFAULT_HEIGHT_MM
    lean = tan(radians(angle_deg / 2))
    deeper = groove_radius_change_mm(new_width_mm - width_mm, angle_deg)
    bottom = max(deeper, 0.0) + height + 3.0
    above = _ABOVE_MM + max(-deeper, 0.0)
    half = new_width_mm / 2

    def face(depth: float) -> float:
        return half - depth * lean

    flanks = [
        Stroke(
            draw_line(
                [
                    Point(side * face(-above), -above),
                    Point(side * face(bottom), bottom),
                    Point(side * (face(bottom) + _FLANK_MM), bottom),
                    Point(side * (face(-above) + _FLANK_MM), -above),
                ],
                is_closed=True,
            ),
            "flank",
        )
        for side in (-1.0, 1.0)
    ]
    belts = [
        _draw_belt(deeper, width_mm, height, lean=lean, style="belt asked"),
        _draw_belt(0.0, new_width_mm, height, lean=lean, style="belt need"),
    ]
    edge = face(-above) + _FLANK_MM
    ticks = [
        Stroke(draw_line([Point(edge + 1.0, depth), Point(edge + 4.0, depth)]), "tick")
        for depth in (0.0, deeper)
    ]
    way = "deeper" if deeper >= 0 else "higher"
    rides = say_mm(abs(deeper))
    label = f"{rides.removeprefix('about ').replace('less than', '<')} {way}"  # there is little room
    said = f"Top width {width_mm:g} mm against {new_width_mm:g} mm when new: rides {rides} {way}."
    return Picture(
        key="ride-belt",
        title="Where the belt now rides",
        description=f"Cross-section of a {angle_deg:g}° groove, to scale. {said}",
        caption=f"Dashed: new. Solid: as measured. {said}",
        corner=Point(-edge - 2.0, -above - 2.0),
        width_mm=2 * edge + 27.0,
        height_mm=above + bottom + 4.0,
        strokes=(*flanks, *belts, *ticks),
        labels=(
            Label(Point(edge + 5.0, -0.4), "new", "start"),
            Label(Point(edge + 5.0, max(deeper, 3.0) + 1.0), label, "start"),
        ),
    )


def _draw_belt(depth: float, width: float, height: float, *, lean: float, style: str) -> Stroke:
    inset = height * lean
    points = [
        Point(-width / 2, depth),
        Point(width / 2, depth),
        Point(width / 2 - inset, depth + height),
        Point(-width / 2 + inset, depth + height),
    ]
    return Stroke(draw_line(points, is_closed=True), style)
