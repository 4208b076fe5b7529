"""Stock and demand of a part by month, with the reorder point: a plain diagram."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from api.drawings.picture import Label, Picture, Point, Stroke, draw_line

_WIDTH, _HEIGHT = 150.0, 60.0
_LEFT, _BOTTOM, _RIGHT, _TOP = 12.0, 10.0, 4.0, 5.0


@dataclass(frozen=True, slots=True)
class StockMonths:
    """Months as words, oldest first; demand in each; stock at each month's end (None before it was kept)."""

    names: Sequence[str]
    demand: Sequence[int]
    stock: Sequence[int | None]
    reorder_point: int | None


def draw_stock_plot(months: StockMonths, *, title: str) -> Picture | None:
    """Bars of demand, a line of stock, a heavy line at the reorder point; None without a month."""
    if not months.names:
        return None
    known = [pieces for pieces in months.stock if pieces is not None]
    top = max([*months.demand, *known, months.reorder_point or 0, 1])
    step = (_WIDTH - _LEFT - _RIGHT) / len(months.names)

    def at(place: float, pieces: float) -> Point:
        up = pieces / top * (_HEIGHT - _BOTTOM - _TOP)
        return Point(round(_LEFT + place * step, 3), round(_HEIGHT - _BOTTOM - up, 3))

    strokes = [Stroke(draw_line([at(0, top), at(0, 0), at(len(months.names), 0)]), "axis")]
    for place, pieces in enumerate(months.demand):
        if pieces > 0:
            corners = [(0.15, 0.0), (0.15, pieces), (0.85, pieces), (0.85, 0.0)]
            points = [at(place + across, height) for across, height in corners]
            strokes.append(Stroke(draw_line(points, is_closed=True), "demand"))
    line = [at(place + 1, pieces) for place, pieces in enumerate(months.stock) if pieces is not None]
    if len(line) > 1:
        strokes.append(Stroke(draw_line(line), "stock"))
    elif line:
        strokes.append(Stroke(draw_line([at(len(months.names) - 0.5, known[-1]), line[0]]), "stock"))
    if months.reorder_point is not None and months.reorder_point >= 0:
        level = months.reorder_point
        strokes.append(Stroke(draw_line([at(0, level), at(len(months.names), level)]), "reorder"))
    return Picture(
        key="stock-plot",
        title=title,
        description=_describe(months),
        caption=_caption(months),
        corner=Point(0, 0),
        width_mm=_WIDTH,
        height_mm=_HEIGHT,
        strokes=tuple(strokes),
        labels=(
            *_label_reorder_point(months.reorder_point, top, at),
            Label(Point(_LEFT - 1.5, _TOP + 2), str(top), "end"),
            Label(Point(_LEFT - 1.5, _HEIGHT - _BOTTOM), "0", "end"),
            Label(Point(_LEFT, _HEIGHT - 2), months.names[0], "start"),
            Label(Point(_WIDTH - _RIGHT, _HEIGHT - 2), months.names[-1], "end"),
        ),
    )


def _label_reorder_point(
    point: int | None, top: int, at: Callable[[float, float], Point]
) -> tuple[Label, ...]:
    """The reorder point at the axis, where it does not stand on the numbers of the ends."""
    if point is None or not 0.15 * top < point < 0.9 * top:
        return ()
    place = at(0, point)
    return (Label(Point(place.x - 1.5, place.y + 1.2), str(point), "end"),)


def _caption(months: StockMonths) -> str:
    """What the strokes mean, and since when the stock is known."""
    said = "Bars: pieces asked for in a month. Line: pieces on hand at its end"
    first = next((name for name, n in zip(months.names, months.stock, strict=True) if n is not None), None)
    if first is not None and first != months.names[0]:
        said += f", known since {first}"
    return f"{said}. Dashes: the reorder point."


def _describe(months: StockMonths) -> str:
    said = ", ".join(
        f"{name} {pieces}" for name, pieces in zip(months.names, months.demand, strict=True) if pieces
    )
    now = next((pieces for pieces in reversed(months.stock) if pieces is not None), None)
    known = f" On hand now {now}." if now is not None else ""
    point = "" if months.reorder_point is None else f" Reorder point {months.reorder_point}."
    return f"Asked for by month: {said or 'nothing'}.{known}{point}"
