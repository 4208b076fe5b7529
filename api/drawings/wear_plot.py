"""Readings of a part over distance or days, with the limit, the forecast and its band.

A plain diagram: the readings as crosses, the forecast as a line from the last reading to the limit, the band
between the near and the far end of its interval, the limit as a heavy line, and where to measure again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

from api.drawings.picture import Label, Picture, Point, Stroke, draw_line
from kb.rules.said_figures import say_grouped

_WIDTH, _HEIGHT = 150.0, 70.0
_LEFT, _BOTTOM, _RIGHT, _TOP = 16.0, 14.0, 6.0, 6.0
_CROSS = 1.3
_WORDS_MM = 40.0  # the words at the line where to measure again, in the letters of a phone
_FARTHEST = 4.0  # the axis ends at so many times the distance left: a wide band would squeeze all the rest
_MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class WearPlot:
    """What a plot shows; distances in ``unit`` (km or days), sizes in ``size_unit``. None is not known."""

    points: Sequence[tuple[float, float]]
    unit: str
    size_unit: str
    limit: float | None = None
    nominal: float | None = None
    level_now: float | None = None
    remaining: float | None = None
    low: float | None = None
    high: float | None = None
    again: float | None = None


@dataclass(frozen=True, slots=True)
class _Scale:
    """Turns distance and size into the diagram's own millimetres."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def at(self, distance: float, size: float) -> Point:
        across = (distance - self.x_low) / (self.x_high - self.x_low)
        up = (size - self.y_low) / (self.y_high - self.y_low)
        return Point(
            round(_LEFT + across * (_WIDTH - _LEFT - _RIGHT), 3),
            round(_HEIGHT - _BOTTOM - up * (_HEIGHT - _BOTTOM - _TOP), 3),
        )


def draw_wear_plot(plot: WearPlot, *, key: str, title: str, caption: str) -> Picture | None:
    """The diagram; None without a reading that has a place along the axis."""
    if not plot.points:
        return None
    scale = _find_scale(plot)
    strokes = [*_draw_axes(scale, plot), *_draw_forecast(scale, plot), *_draw_points(scale, plot)]
    said = ", ".join(
        f"{size:g} {plot.size_unit} at {say_grouped(distance)} {plot.unit}" for distance, size in plot.points
    )
    return Picture(
        key=f"plot-{key}",
        title=title,
        description=f"Readings: {said}. {caption}",
        caption=caption,
        corner=Point(0, 0),
        width_mm=_WIDTH,
        height_mm=_HEIGHT,
        strokes=tuple(strokes),
        labels=tuple(_label(scale, plot)),
    )


def _find_scale(plot: WearPlot) -> _Scale:
    last = plot.points[-1][0]
    ends = [distance for distance, _ in plot.points]
    ends += [last + step for step in (plot.remaining, _find_band_end(plot)) if step is not None]
    ends += [plot.again] if plot.again is not None else []
    sizes = [size for _, size in plot.points]
    sizes += [size for size in (plot.limit, plot.nominal) if size is not None]
    x_pad = (max(ends) - min(ends)) * 0.05 or 100.0
    y_pad = (max(sizes) - min(sizes)) * 0.12 or 0.5
    return _Scale(
        max(min(ends) - x_pad, 0.0) if plot.unit == "km" else min(ends) - x_pad,
        max(ends) + x_pad,
        min(sizes) - y_pad,
        max(sizes) + y_pad,
    )


def _find_band_end(plot: WearPlot) -> float | None:
    """How far the band is shown: to its end, or where that is very far, as far as says something."""
    far = plot.high or plot.low
    if far is None or not plot.remaining:
        return far
    return min(far, _FARTHEST * plot.remaining)


def _draw_axes(scale: _Scale, plot: WearPlot) -> list[Stroke]:
    corner = scale.at(scale.x_low, scale.y_low)
    up, across = scale.at(scale.x_low, scale.y_high), scale.at(scale.x_high, scale.y_low)
    strokes = [Stroke(draw_line([up, corner, across]), "axis")]
    for distance in list_ticks(scale.x_low, scale.x_high):
        at = scale.at(distance, scale.y_low)
        strokes.append(Stroke(draw_line([at, Point(at.x, at.y + 1.5)]), "tick"))
    for size in list_ticks(scale.y_low, scale.y_high):
        at = scale.at(scale.x_low, size)
        strokes.append(Stroke(draw_line([Point(at.x - 1.5, at.y), at]), "tick"))
    if plot.limit is not None:
        ends = [scale.at(scale.x_low, plot.limit), scale.at(scale.x_high, plot.limit)]
        strokes.append(Stroke(draw_line(ends), "limit"))
    return strokes


def _draw_forecast(scale: _Scale, plot: WearPlot) -> list[Stroke]:
    if plot.limit is None or plot.level_now is None or not plot.remaining:
        return []
    last = plot.points[-1][0]
    start = scale.at(last, plot.level_now)
    strokes = []
    if plot.low is not None:
        far = plot.high if plot.high is not None else scale.x_high - last
        shown = min(far, scale.x_high - last)
        upper = plot.level_now + (plot.limit - plot.level_now) * shown / far
        foot = [scale.at(last + plot.low, plot.limit), scale.at(last + shown, plot.limit)]
        strokes.append(
            Stroke(draw_line([start, *foot, scale.at(last + shown, upper)], is_closed=True), "band")
        )
    strokes.append(Stroke(draw_line([start, scale.at(last + plot.remaining, plot.limit)]), "forecast"))
    if plot.again is not None:
        below, above = scale.at(plot.again, scale.y_low), scale.at(plot.again, scale.y_high)
        strokes.append(Stroke(draw_line([below, above]), "again"))
    return strokes


def _draw_points(scale: _Scale, plot: WearPlot) -> list[Stroke]:
    places = [scale.at(distance, size) for distance, size in plot.points]
    strokes = [Stroke(draw_line(places), "course")] if len(places) > 1 else []
    for at in places:
        strokes.append(
            Stroke(
                draw_line([Point(at.x - _CROSS, at.y - _CROSS), Point(at.x + _CROSS, at.y + _CROSS)])
                + draw_line([Point(at.x - _CROSS, at.y + _CROSS), Point(at.x + _CROSS, at.y - _CROSS)]),
                "reading",
            )
        )
    return strokes


def _label(scale: _Scale, plot: WearPlot) -> list[Label]:
    labels = []
    for distance in list_ticks(scale.x_low, scale.x_high):
        at = scale.at(distance, scale.y_low)
        labels.append(Label(Point(at.x, at.y + 5.0), say_grouped(distance)))
    for size in list_ticks(scale.y_low, scale.y_high):
        at = scale.at(scale.x_low, size)
        labels.append(Label(Point(at.x - 2.2, at.y + 1.0), f"{size:g}", "end"))
    unit = "odometer, km" if plot.unit == "km" else "days since the first reading"
    labels.append(Label(Point((_LEFT + _WIDTH - _RIGHT) / 2, _HEIGHT - 3.5), unit))
    labels.append(Label(Point(1.0, 4.0), plot.size_unit, "start"))
    if plot.limit is not None:
        at = scale.at(scale.x_high, plot.limit)
        labels.append(
            Label(Point(at.x, at.y + 3.7), f"limit {plot.limit:g} {plot.size_unit}".rstrip(), "end")
        )
    if plot.again is not None:
        at = scale.at(plot.again, scale.y_high)
        has_room_left = at.x - _LEFT > _WORDS_MM
        side = (-1.0, "end") if has_room_left else (1.0, "start")
        labels.append(Label(Point(at.x + side[0], at.y + 3.0), "measure again", side[1]))
    return labels


def list_ticks(low: float, high: float) -> list[float]:
    """Round numbers between two ends, six steps at most.

    Example:
        >>> list_ticks(0.0, 9500.0)
        [0.0, 2000.0, 4000.0, 6000.0, 8000.0]
    """
    rough = (high - low) / _MOST_TICKS
    power = 10.0 ** floor(log10(rough))
    step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough)
    first = -floor(-low / step)
    return [round(place * step, 9) for place in range(first, floor(high / step) + 1)]
