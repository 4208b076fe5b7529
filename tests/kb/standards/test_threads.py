"""Formulas of ISO 68-1, ISO 724 and ISO 898-1 (published): d2 = d - 0.6495 P, d3 = d - 1.2269 P."""

import math

import pytest

from kb.standards.threads import (
    find_coarse_pitch_mm,
    find_metric_thread,
    list_metric_threads,
    list_threads_of_diameter,
)


@pytest.mark.parametrize("thread", list_metric_threads(), ids=lambda t: t.designation)
def test_row_agrees_with_the_profile(thread):
    height_mm = math.sqrt(3) / 2 * thread.pitch_mm
    pitch_diameter_mm = thread.d_mm - 0.75 * height_mm
    minor_external_mm = thread.d_mm - 17 / 12 * height_mm
    assert thread.pitch_diameter_mm == pytest.approx(pitch_diameter_mm, abs=0.001)
    assert thread.minor_external_mm == pytest.approx(minor_external_mm, abs=0.001)
    assert thread.minor_internal_mm == pytest.approx(thread.d_mm - 1.25 * height_mm, abs=0.001)
    stress_area_mm2 = math.pi / 4 * ((pitch_diameter_mm + minor_external_mm) / 2) ** 2
    assert thread.stress_area_mm2 == pytest.approx(stress_area_mm2, abs=0.01)
    assert thread.source


# ISO 898-1, nominal stress areas as printed in published load tables.
@pytest.mark.parametrize(
    ("d_mm", "pitch_mm", "printed_mm2"),
    [(6, 1, 20.1), (8, 1.25, 36.6), (10, 1.5, 58.0), (10, 1.25, 61.2), (12, 1.75, 84.3), (16, 2, 157)],
)
def test_stress_area_is_the_published_one(d_mm, pitch_mm, printed_mm2):
    assert find_metric_thread(d_mm, pitch_mm).stress_area_mm2 == pytest.approx(printed_mm2, rel=0.005)


@pytest.mark.parametrize(
    ("d_mm", "expected"), [(3, 0.5), (6, 1), (8, 1.25), (12, 1.75), (39, 4), (28, None), (11, None)]
)
def test_coarse_pitch(d_mm, expected):
    assert find_coarse_pitch_mm(d_mm) == expected


def test_a_diameter_has_one_coarse_pitch_at_most():
    for thread in list_metric_threads():
        coarse = [t for t in list_threads_of_diameter(thread.d_mm) if t.series == "coarse"]
        assert len(coarse) <= 1


def test_unlisted_thread_is_not_found():
    assert find_metric_thread(12, 1.6) is None
    assert find_metric_thread(11, 1.5) is None
    assert list_threads_of_diameter(11) == ()


def test_tables_are_read_once():
    assert list_metric_threads() is list_metric_threads()
    assert len(list_metric_threads()) == 79
