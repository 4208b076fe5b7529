"""The bench book on pages: the machines, one machine with its plots, and writing a reading down."""

from datetime import UTC, date, datetime
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.readings import shape_book, shape_machine, shape_series
from api.bench_book import ReadingLine, write_reading
from api.dependencies import MAX_TEXT, NO_NUL, PathText, Reader, Writer
from api.drawings.picture import Picture
from api.drawings.wear_plot import WearPlot, draw_wear_plot
from api.pages.bench import ask, render_bench
from kb.lookups.readings import Series, list_machines, read_book
from kb.rules.wear_series_values import SeriesAxis

router = APIRouter(include_in_schema=False)


class ReadingForm(BaseModel):
    """The form of the bench book; every field is text as typed."""

    machine: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    engine: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    position: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    quantity: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    value: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    odometer: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    taken_on: date | None = None
    replaced: bool = False
    note: str = Field("", max_length=500, pattern=NO_NUL)


@router.get("/readings")
def show_machines(session: Reader) -> Response:
    """Machines of the bench book, and the form for a new reading."""
    machines = [shape_machine(item) for item in list_machines(session)]
    return render_bench("readings.html", session, problem=None, machines=machines, form=ReadingForm())


@router.post("/readings")
def post_reading(session: Writer, form: Annotated[ReadingForm, Form()]) -> Response:
    """Write a reading down and show the machine; what is wrong is said above the form."""
    line = ReadingLine(
        position=form.position.strip(),
        quantity=form.quantity.strip(),
        value=form.value.strip() or None,
        odometer=form.odometer.strip() or None,
        taken_on=form.taken_on,
        replaced=form.replaced,
        engine=form.engine.strip() or None,
        note=form.note.strip() or None,
    )
    with session.begin_nested() as attempt:
        answer, problem = ask(
            lambda: {"added": write_reading(session, form.machine, line, now=datetime.now(UTC))}
        )
        if answer is None:
            attempt.rollback()
    if answer is not None:
        return RedirectResponse(f"/readings/{quote(form.machine.strip(), safe='')}", status_code=303)
    machines = [shape_machine(item) for item in list_machines(session)]
    return render_bench("readings.html", session, problem=problem, machines=machines, form=form)


@router.get("/readings/{machine}")
def show_machine(session: Reader, machine: PathText) -> Response:
    """One machine: what is left of each part, plots, and the form for the next reading."""
    book = _read(session, machine)
    form = ReadingForm(machine=book["machine"], engine=book["engine"])
    return render_bench("machine.html", session, problem=None, book=book, form=form)


def _read(session: Session, machine: str) -> dict[str, Any]:
    book = read_book(session, machine)
    shaped = shape_book(book)
    shaped["series"] = [shape_series(item) | {"picture": draw_series(item)} for item in book.series]
    return shaped


def draw_series(item: Series) -> Picture | None:
    """The plot of a series, for the part now fitted."""
    answer, limit = item.answer, item.limit
    starts = [place for place, line in enumerate(item.readings) if line.replaced]
    lines = item.readings[starts[-1] if starts else 0 :]
    is_days = answer.axis is SeriesAxis.DAYS
    placed = [
        (float(line.taken_on.toordinal()) if is_days and line.taken_on else line.odometer_km, line.value)
        for line in lines
        if (line.taken_on if is_days else line.odometer_km is not None)
    ]
    points = sorted((place, value) for place, value in placed if place is not None and value is not None)
    origin = points[0][0] if is_days and points else 0.0
    again = answer.measure_again_on.toordinal() if answer.measure_again_on else answer.measure_again_km
    plot = WearPlot(
        points=[(place - origin, value) for place, value in points],
        unit="days" if is_days else "km",
        size_unit=limit.unit or "",
        limit=limit.limit,
        nominal=limit.nominal,
        level_now=answer.level_now,
        remaining=answer.remaining,
        low=answer.low,
        high=answer.high,
        again=None if again is None else again - origin,
    )
    name = f"{item.position} {item.quantity}".replace("_", " ")
    key = f"{item.position}-{item.quantity}".replace("_", "-")
    return draw_wear_plot(plot, key=key, title=name.capitalize(), caption=answer.text)
