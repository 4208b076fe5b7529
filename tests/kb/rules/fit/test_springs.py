"""Clutch springs and the contra spring.

Sources: F = k (L0 - L), k = G d^4 / (8 D^3 Na), solid length (Na + 2) d for squared and ground ends (Shigley,
springs, from memory); limits of 3 % and 5 % are documented settings of this project (judgement).
"""

from dataclasses import replace

import pytest

from kb.rules.fit.settings import FitLimits
from kb.rules.fit.springs import judge_clutch_springs, judge_contra_spring
from kb.rules.fit.values import PartSize, SpringNeed
from kb.rules.source import SourceRef
from kb.terms import SourceKind

SOURCE = SourceRef("book", SourceKind.MANUAL)
LIMITS = FitLimits()
CLUTCH = SpringNeed(SOURCE, count=3, rated_rpm=1500.0)
CONTRA = SpringNeed(
    SOURCE,
    free_length_mm=110.0,
    wire_mm=4.0,
    coil_mm=45.0,
    active_coils=5.0,
    installed_length_mm=60.0,
    shortest_length_mm=40.0,
    outer_space_mm=51.0,
    inner_space_mm=39.0,
)
SAME = PartSize(free_length_mm=110.0, wire_mm=4.0, coil_mm=45.0, active_coils=5.0)


@pytest.mark.parametrize(
    ("count", "rated_rpm", "outcome", "percent"),
    [
        (3, 1500.0, "fits", 0.0),
        (3, 1545.0, "fits", 3.0),
        (3, 1546.0, "fits_with_change", 3.07),
        (3, 1455.0, "fits", -3.0),
        (3, 2000.0, "fits_with_change", 33.33),
        (2, 1500.0, "does_not_fit", None),
        (None, 1500.0, "not_known", 0.0),
        (3, None, "not_known", None),
        (2, None, "does_not_fit", None),
    ],
)
def test_clutch_springs(
    count: int | None, rated_rpm: float | None, outcome: str, percent: float | None
) -> None:
    judged = judge_clutch_springs(PartSize(count=count, rated_rpm=rated_rpm), CLUTCH, LIMITS)
    assert judged.outcome == outcome
    changes = [item.change_percent for item in judged.consequences if item.quantity == "engagement_speed"]
    assert changes == ([] if percent is None else [percent])
    assert bool(judged.measure_next) == (count is None or rated_rpm is None)


def test_weaker_clutch_springs_warn_of_creep() -> None:
    judged = judge_clutch_springs(PartSize(count=3, rated_rpm=1200.0), CLUTCH, LIMITS)
    assert "creep" in judged.consequences[0].text


@pytest.mark.parametrize(
    ("change", "outcome"),
    [
        ({}, "fits"),
        ({"coil_mm": 47.0}, "fits_with_change"),  # 51 mm outside: just goes in
        ({"coil_mm": 47.1}, "does_not_fit"),
        ({"coil_mm": 43.0}, "fits_with_change"),  # 39 mm inside: just goes over
        ({"coil_mm": 42.9}, "does_not_fit"),
        ({"active_coils": 7.9}, "fits_with_change"),  # solid 39.6 mm
        ({"active_coils": 8.0}, "does_not_fit"),  # solid 40.0 mm: they touch
        ({"free_length_mm": 112.5}, "fits"),  # 52.5 against 50 mm of preload: 5 %
        ({"free_length_mm": 112.6}, "fits_with_change"),
        ({"free_length_mm": 107.5}, "fits"),
        ({"free_length_mm": 107.4}, "fits_with_change"),
        ({"free_length_mm": None}, "not_known"),
        ({"wire_mm": None}, "not_known"),
        ({"wire_mm": None, "coil_mm": 51.0}, "does_not_fit"),
        ({"wire_mm": None, "coil_mm": 39.0}, "does_not_fit"),
        ({"wire_mm": None, "coil_mm": 50.9}, "not_known"),
        ({"free_length_mm": None, "coil_mm": 47.1}, "does_not_fit"),
    ],
)
def test_contra_spring(change: dict[str, float | None], outcome: str) -> None:
    judged = judge_contra_spring(replace(SAME, **change), CONTRA, LIMITS)
    assert judged.outcome == outcome
    assert bool(judged.measure_next) == (None in change.values())


@pytest.mark.parametrize(
    ("change", "percent"),
    [
        ({"free_length_mm": 115.0}, 10.0),
        ({"wire_mm": 4.1}, 10.38),  # (4.1 / 4)^4
        ({"free_length_mm": 60.0}, -100.0),
        ({"free_length_mm": 50.0}, -100.0),
    ],
)
def test_clamp_force_is_the_preload_at_the_installed_length(change: dict[str, float], percent: float) -> None:
    judged = judge_contra_spring(replace(SAME, **change), CONTRA, LIMITS)
    (consequence,) = judged.consequences
    assert (consequence.quantity, consequence.change_percent) == ("clamp_force", percent)


@pytest.mark.parametrize(
    "missing",
    ["outer_space_mm", "inner_space_mm", "shortest_length_mm", "installed_length_mm", "active_coils"],
)
def test_number_missing_in_the_need_is_not_known_and_named(missing: str) -> None:
    judged = judge_contra_spring(SAME, replace(CONTRA, **{missing: None}), LIMITS)
    assert judged.outcome == "not_known"
    assert [item.quantity for item in judged.measure_next] == [missing]


def test_own_spring_without_preload_is_not_known() -> None:
    judged = judge_contra_spring(SAME, replace(CONTRA, free_length_mm=60.0), LIMITS)
    assert judged.outcome == "not_known"


def test_springs_under_load_carry_their_warning() -> None:
    """Contra and clutch springs are under load: common practice, no source."""
    assert "compressed" in judge_contra_spring(SAME, CONTRA, LIMITS).cautions[0]
    assert "eye protection" in judge_clutch_springs(PartSize(), CLUTCH, LIMITS).cautions[0]


def test_numbers_missing_on_either_side_are_all_named_once() -> None:
    asked, need = replace(SAME, active_coils=None), replace(CONTRA, installed_length_mm=None)
    judged = judge_contra_spring(asked, need, LIMITS)
    wanted = dict.fromkeys((item.quantity, item.text.partition(":")[0]) for item in judged.measure_next)
    assert list(wanted) == [
        ("active_coils", "On the part asked about"),
        ("installed_length_mm", "On the engine or the part taken out"),
    ]
    assert len(set(judged.measure_next)) == len(wanted)
    assert "asked about (active coils) and the engine's need (installed length)" in judged.reasons[-1].text
