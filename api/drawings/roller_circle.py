"""Rollers in their slots round the circle, in the order in which they balance best."""

from collections.abc import Sequence
from math import cos, pi, sin

from api.drawings.picture import Label, Picture, Point, Stroke, draw_circle

_RADIUS = 30.0
_LARGEST = 9.0
_SMALLEST = 6.5


def draw_roller_circle(masses_g: Sequence[float], *, caption: str) -> Picture:
    """The circle seen from outside; slot 1 on top, counted clockwise; heavier rollers are drawn larger."""
    heaviest, lightest = max(masses_g), min(masses_g)
    spread = heaviest - lightest
    strokes = [Stroke(draw_circle(Point(0, 0), _RADIUS), "rim"), Stroke(draw_circle(Point(0, 0), 6.0), "rim")]
    labels: list[Label] = []
    for slot, mass in enumerate(masses_g):
        turn = 2 * pi * slot / len(masses_g)
        at = Point(_RADIUS * sin(turn), -_RADIUS * cos(turn))
        share = (mass - lightest) / spread if spread else 0.5
        size = _SMALLEST + share * (_LARGEST - _SMALLEST)
        is_heavy = bool(spread) and share > 0.5
        strokes.append(Stroke(draw_circle(at, size), f"roller {'heavy' if is_heavy else 'light'}"))
        labels.append(Label(Point(at.x, at.y + 1.5), f"{mass:g} g"))
        outer = Point((_RADIUS + 13.0) * sin(turn), -(_RADIUS + 13.0) * cos(turn) + 1.5)
        labels.append(Label(outer, str(slot + 1)))
    order = ", ".join(f"slot {slot}: {mass:g} g" for slot, mass in enumerate(masses_g, start=1))
    return Picture(
        key="circle-rollers",
        title="Order round the circle",
        description=f"Seen from outside, clockwise from the top. {order}. {caption}",
        caption=caption,
        corner=Point(-48, -48),
        width_mm=96,
        height_mm=96,
        strokes=tuple(strokes),
        labels=tuple(labels),
    )
