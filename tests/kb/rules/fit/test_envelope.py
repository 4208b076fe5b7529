"""Bearings, seals and o-rings. Boundary sizes of 6004: ISO 15 (20 x 42 x 12 mm); limits: settings."""

from dataclasses import replace

import pytest

from kb.rules.fit.envelope import judge_envelope, normalise_form
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import PartSize, SizeNeed
from kb.rules.source import SourceRef
from kb.terms import Position, SourceKind

SOURCE = SourceRef("book", SourceKind.MANUAL)
NEED = SizeNeed(SOURCE, 20.0, 42.0, 12.0, "C3", "2RS")
SAME = PartSize(bore_mm=20.0, outside_mm=42.0, width_mm=12.0, clearance="C3", form="2RS")
LIMITS = FitLimits()


@pytest.mark.parametrize(
    ("change", "outcome", "firm"),
    [
        ({}, "fits", True),
        ({"bore_mm": 20.05}, "fits", True),
        ({"bore_mm": 20.06}, "does_not_fit", True),
        ({"outside_mm": 41.95}, "fits", True),
        ({"outside_mm": 41.94}, "does_not_fit", True),
        ({"width_mm": 12.05}, "fits", True),
        ({"width_mm": 12.06}, "does_not_fit", True),
        ({"clearance": "CN"}, "fits_with_change", True),
        ({"form": "ZZ"}, "fits_with_change", True),
        ({"clearance": None}, "fits", False),
        ({"width_mm": None}, "not_known", False),
        ({"width_mm": None, "bore_mm": 25.0}, "does_not_fit", True),
    ],
)
def test_bearing(change: dict[str, object], outcome: str, firm: bool) -> None:
    judged = judge_envelope(replace(SAME, **change), NEED, Position.COVER_BEARING, LIMITS)
    assert (judged.outcome, judged.is_firm) == (outcome, firm)
    assert bool(judged.measure_next) == (None in change.values())


def test_number_missing_in_the_need_is_not_known_and_named() -> None:
    judged = judge_envelope(SAME, replace(NEED, outside_mm=None), Position.COVER_BEARING, LIMITS)
    assert judged.outcome == "not_known"
    assert [item.quantity for item in judged.measure_next] == ["outside_mm"]


@pytest.mark.parametrize(
    ("bore_mm", "section_mm", "outcome"),
    [(34.0, 2.1, "fits"), (34.0, 2.11, "does_not_fit"), (34.05, 1.9, "fits"), (34.06, 2.0, "does_not_fit")],
)
def test_o_ring_by_inside_diameter_and_section(bore_mm: float, section_mm: float, outcome: str) -> None:
    need = SizeNeed(SOURCE, 34.0, None, 2.0)
    asked = PartSize(bore_mm=bore_mm, width_mm=section_mm)
    assert judge_envelope(asked, need, Position.SHAFT_O_RING, LIMITS).outcome == outcome


def test_section_of_an_o_ring_follows_from_its_outside() -> None:
    need = SizeNeed(SOURCE, 34.0, 38.0)
    asked = PartSize(bore_mm=34.0, width_mm=2.0)
    assert judge_envelope(asked, need, Position.TORQUE_DRIVER_O_RING, LIMITS).outcome == "fits"


@pytest.mark.parametrize(("one", "other"), [("ZZ", "2Z"), ("2rs", "2-RS"), ("CN", "normal")])
def test_spellings_of_one_form(one: str, other: str) -> None:
    """Common practice, no source."""
    assert normalise_form(one) == normalise_form(other)
