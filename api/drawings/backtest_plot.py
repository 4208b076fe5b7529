"""Rules of a backtest as points: pieces held across, share served upwards; best is at the top left."""

from collections.abc import Sequence
from typing import Any

from api.drawings.picture import Label, Picture, Point, Stroke, draw_circle, draw_line

_WIDTH, _HEIGHT = 150.0, 80.0
_LEFT, _BOTTOM, _RIGHT, _TOP = 18.0, 12.0, 6.0, 6.0
_LETTER_MM, _LINE_MM = 2.0, 4.2  # of letters 3.4 mm high


def draw_played(answer: dict[str, Any]) -> Picture:
    """A whole backtest: its rules as points, the method at other shares and the cover rules as lines."""
    rules = [rule for rule in answer["rules"] if rule["fill_rate"] is not None]
    points = [(rule["rule"], rule["mean_pieces_held"], rule["fill_rate"]) for rule in rules]
    method = [(rule["method_pieces_held"], rule["fill_rate"]) for rule in rules if rule["method_pieces_held"]]
    method += [(held, served) for _name, held, served in points[:1]]
    covers = [(held, served) for name, held, served in points if "of the mean" in name]
    return draw_backtest(points, lines=[sorted(method), sorted(covers)])


def draw_backtest(
    rules: Sequence[tuple[str, float, float]], *, lines: Sequence[Sequence[tuple[float, float]]] = ()
) -> Picture:
    """Points for rules given as name, pieces held, share served (0 … 1); lines through held and served."""
    most = max([held for _, held, _ in rules] + [1.0])
    lowest = min([served for _, _, served in rules] + [0.9])
    floor = max(lowest - 0.1, 0.0)

    def at(held: float, served: float) -> Point:
        across = held / most * (_WIDTH - _LEFT - _RIGHT - 30)
        up = (served - floor) / (1.0 - floor) * (_HEIGHT - _BOTTOM - _TOP)
        return Point(round(_LEFT + across, 3), round(_HEIGHT - _BOTTOM - up, 3))

    corner, right = at(0, floor), Point(_WIDTH - _RIGHT, _HEIGHT - _BOTTOM)
    strokes = [Stroke(draw_line([at(0, 1.0), corner, right]), "axis")]
    strokes += [Stroke(draw_line([at(*point) for point in line]), "faint") for line in lines if len(line) > 1]
    strokes += [Stroke(draw_circle(at(held, served), 1.4), "demand") for _, held, served in rules]
    labels = _place_names([(name, at(held, served)) for name, held, served in rules])
    labels += [
        Label(Point(_LEFT - 1.5, _TOP + 2), "100 %", "end"),
        Label(Point(_LEFT - 1.5, _HEIGHT - _BOTTOM), f"{100 * floor:.0f} %", "end"),
        Label(Point(_LEFT, _HEIGHT - 3), "0 pieces held", "start"),
        Label(at(most, floor + (1 - floor) * -0.09), f"{most:,.0f}", "middle"),
    ]
    said = "; ".join(
        f"{name}: {held:,.0f} pieces held, {100 * served:.1f} % served" for name, held, served in rules
    )
    return Picture(
        key="stock-backtest",
        title="Held against served",
        description=said,
        caption="Across: mean pieces held. Upwards: share served from the shelf at once. Lines: this method "
        "asked to serve other shares, and ordering up to one, two, three and six months; the higher line "
        "serves more with as many pieces.",
        corner=Point(0, 0),
        width_mm=_WIDTH,
        height_mm=_HEIGHT,
        strokes=tuple(strokes),
        labels=tuple(labels),
    )


def _place_names(points: Sequence[tuple[str, Point]]) -> list[Label]:
    """Names beside their points: on the right where there is room, else on the left; lower where one is."""
    labels: list[Label] = []
    taken: list[tuple[float, float, float]] = []  # left, right, height of the line
    for name, point in points:
        width = len(name) * _LETTER_MM
        fits_right = point.x + 2.5 + width <= _WIDTH
        left = point.x + 2.5 if fits_right else point.x - 2.5 - width
        y = point.y + 1.0
        while any(
            left < end and start < left + width and abs(y - line) < _LINE_MM for start, end, line in taken
        ):
            y += 0.5
        taken.append((left, left + width, y))
        labels.append(
            Label(Point(left if fits_right else left + width, y), name, "start" if fits_right else "end")
        )
    return labels
