"""A picture as strokes and labels. One unit is one millimetre, so every picture is to scale."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Point:
    """A point, x to the right and y downwards [mm]."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Stroke:
    """A path with the class that decides how it is drawn."""

    path: str
    style: str


@dataclass(frozen=True, slots=True)
class Label:
    """A word or a number at a point."""

    at: Point
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with what a screen reader says of it, and a caption of numbers below."""

    key: str
    title: str
    description: str
    caption: str
    corner: Point
    width_mm: float
    height_mm: float
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...] = ()

    @property
    def view_box(self) -> str:
        """Left, top, width and height."""
        numbers = (self.corner.x, self.corner.y, self.width_mm, self.height_mm)
        return " ".join(say_mm(number) for number in numbers)


def say_mm(value: float) -> str:
    """A coordinate to the hundredth of a millimetre.

    Example:
        >>> say_mm(12.0), say_mm(-0.004), say_mm(3.456)
        ('12', '0', '3.46')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def draw_line(points: Sequence[Point], *, is_closed: bool = False) -> str:
    """Path through points.

    Example:
        >>> draw_line([Point(0, 0), Point(1.5, 2)])
        'M0 0L1.5 2'
    """
    path = "L".join(f"{say_mm(point.x)} {say_mm(point.y)}" for point in points)
    return f"M{path}Z" if is_closed else f"M{path}"


def draw_circle(centre: Point, radius_mm: float) -> str:
    """Path of a whole circle, in two arcs."""
    left, right = say_mm(centre.x - radius_mm), say_mm(centre.x + radius_mm)
    radius, y = say_mm(radius_mm), say_mm(centre.y)
    return f"M{left} {y}A{radius} {radius} 0 1 1 {right} {y}A{radius} {radius} 0 1 1 {left} {y}Z"
