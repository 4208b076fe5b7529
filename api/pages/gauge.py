"""Gauging on a page: the verdict on a worn part with a drawing, and odd rollers round their circle."""

from typing import Any

from fastapi import APIRouter
from sqlmodel import Session
from starlette.responses import Response

from api.answers.gauge import shape_gauge
from api.answers.rollers import shape_rollers
from api.dependencies import Reader
from api.drawings.picture import Picture
from api.drawings.ride import draw_ride
from api.drawings.roller_circle import draw_roller_circle
from api.pages.bench import PageText, ask, render_bench
from kb.errors import BadInput
from kb.lookups.gauge import GaugeQuestion, GaugeResult, gauge_part
from kb.lookups.roller_set import judge_rollers
from kb.rules.reading_value import parse_reading_value
from kb.terms import Position

router = APIRouter(include_in_schema=False)

STATE_WORDS = {
    "good": "good",
    "near_limit": "near the limit",
    "replace": "replace",
    "not_known": "not known",
}
STATE_SIGNS = {"good": "✓", "near_limit": "≈", "replace": "✗", "not_known": "?"}
ROLLER_WORDS = {
    "fine": "may go in",
    "note": "may go in, slightly out of balance",
    "refused": "must not go in",
    "not_known": "not known",
}
ROLLER_SIGNS = {"fine": "✓", "note": "≈", "refused": "✗", "not_known": "?"}


@router.get("/gauge")
def show_gauge(
    session: Reader,
    engine: PageText = "",
    position: PageText = "",
    quantity: PageText = "",
    value: PageText = "",
) -> Response:
    """A measured value against its limit."""
    asked = {"engine": engine, "position": position, "quantity": quantity, "value": value}
    asked = {name: text.strip() for name, text in asked.items()}
    answer, problem = None, None
    if all(asked.values()):
        answer, problem = ask(lambda: _gauge(session, asked))
    return render_bench(
        "gauge.html",
        session,
        problem=problem,
        answer=answer,
        asked=asked,
        words=STATE_WORDS,
        signs=STATE_SIGNS,
    )


def _gauge(session: Session, asked: dict[str, str]) -> dict[str, Any]:
    result = gauge_part(session, GaugeQuestion(**asked))
    return shape_gauge(result) | {"picture": find_ride(result)}


def find_ride(result: GaugeResult) -> Picture | None:
    """The drawing of where a belt now rides, where its width when new and an angle are known."""
    answer, machine = result.answer, result.machine
    if (answer.position, answer.quantity) != (Position.DRIVE_BELT, "top_width") or answer.nominal is None:
        return None
    angle = machine.drive.drive.drive.angle_deg if machine.drive else None
    angle = angle or (machine.belt.angle_deg if machine.belt else None)
    is_drawable = 0.3 * answer.nominal <= answer.value <= 1.3 * answer.nominal
    if angle is None or not is_drawable:
        return None
    height = machine.belt.thickness_mm if machine.belt else None
    return draw_ride(answer.nominal, answer.value, angle_deg=angle, height_mm=height)


@router.get("/rollers")
def show_rollers(
    session: Reader, engine: PageText = "", masses: PageText = "", radius: PageText = ""
) -> Response:
    """Weighed rollers in their best order."""
    engine, masses, radius = engine.strip(), masses.strip(), radius.strip()
    answer, problem = None, None
    if engine and masses:
        answer, problem = ask(lambda: _judge(session, engine, masses, radius=radius))
    return render_bench(
        "rollers.html",
        session,
        problem=problem,
        answer=answer,
        engine=engine,
        masses=masses,
        radius=radius,
        words=ROLLER_WORDS,
        signs=ROLLER_SIGNS,
    )


def _judge(session: Session, engine: str, masses: str, *, radius: str) -> dict[str, Any]:
    weighed = parse_masses(masses)
    radius_mm = parse_reading_value(radius, unit="mm", quantity="radius") if radius else None
    answer = shape_rollers(*judge_rollers(session, engine, weighed, radius_mm=radius_mm))
    return answer | {"picture": draw_roller_circle(answer["order_masses_g"], caption=answer["text"])}


def parse_masses(text: str) -> list[float]:
    """Masses as typed: numbers with spaces or semicolons between them; a comma is a decimal comma.

    Raises:
        BadInput: one of them is no number.

    Example:
        >>> parse_masses("7 6,5; 7")
        [7.0, 6.5, 7.0]
    """
    words = text.replace(";", " ").split()
    if not words:
        raise BadInput("No mass was written; write each roller's mass in grams.", field="masses")
    return [parse_reading_value(word, unit="g", quantity="mass") for word in words]
