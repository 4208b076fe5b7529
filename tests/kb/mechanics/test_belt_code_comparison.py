"""Comparison of belts by code. Every limit is judgement of this project (no source): the tests pin them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.mechanics.belt_code_comparison import BeltCode, CodeLimits, compare_codes
from kb.mechanics.fit_class import FitClass
from kb.terms import LengthKind

NEED = BeltCode(743.0, 20.0, 30.0, 8.5, LengthKind.OUTSIDE)


@pytest.mark.parametrize(
    ("quantity", "more", "fit_class"),
    [
        ("length_mm", 1.99, FitClass.SAME_SIZE),
        ("length_mm", 2.0, FitClass.SAME_SIZE),
        ("length_mm", -2.0, FitClass.SAME_SIZE),
        ("length_mm", 2.01, FitClass.USABLE),
        ("length_mm", -5.0, FitClass.USABLE),
        ("length_mm", 5.01, FitClass.CANNOT_TELL),
        ("length_mm", 15.0, FitClass.CANNOT_TELL),
        ("length_mm", -15.01, FitClass.DOES_NOT_FIT),
        ("top_width_mm", 0.3, FitClass.SAME_SIZE),
        ("top_width_mm", 0.31, FitClass.USABLE),
        ("top_width_mm", -1.0, FitClass.USABLE),
        ("top_width_mm", 1.01, FitClass.CANNOT_TELL),
        ("top_width_mm", 2.0, FitClass.CANNOT_TELL),
        ("top_width_mm", 2.01, FitClass.DOES_NOT_FIT),
        ("angle_deg", 0.5, FitClass.SAME_SIZE),
        ("angle_deg", 0.51, FitClass.CANNOT_TELL),
        ("angle_deg", -2.0, FitClass.CANNOT_TELL),
        ("angle_deg", 2.01, FitClass.DOES_NOT_FIT),
        ("thickness_mm", 0.5, FitClass.SAME_SIZE),
        ("thickness_mm", 0.51, FitClass.USABLE),
    ],
)
def test_class_of_one_difference(quantity: str, more: float, fit_class: FitClass) -> None:
    asked = replace(NEED, **{quantity: getattr(NEED, quantity) + more})
    answer = compare_codes(NEED, asked)
    assert answer.fit_class is fit_class
    assert answer.measure == (("pulley geometry",) if fit_class is FitClass.CANNOT_TELL else ())


def test_a_limit_reached_with_rounding_is_still_kept() -> None:
    """0.1 + 0.2 is a little more than 0.3 in binary; the slack of 1e-9 keeps it."""
    assert compare_codes(NEED, replace(NEED, top_width_mm=20.0 + 0.1 + 0.2)).fit_class is FitClass.SAME_SIZE


@pytest.mark.parametrize(
    ("change", "measure"),
    [
        ({"length_mm": None}, ("outer length",)),
        ({"top_width_mm": None}, ("top width",)),
        ({"angle_deg": None}, ("included angle",)),
        ({"length_kind": None}, ("outer length",)),
        ({"length_kind": LengthKind.INSIDE}, ("outer length",)),
        ({"top_width_mm": None, "angle_deg": 31.0}, ("top width", "pulley geometry")),
    ],
)
def test_missing_quantities_leave_it_open(change: dict[str, float], measure: tuple[str, ...]) -> None:
    asked = replace(NEED, **change)
    for answer in (compare_codes(NEED, asked), compare_codes(asked, NEED)):
        assert answer.fit_class is FitClass.CANNOT_TELL
        assert answer.measure == measure


def test_a_known_misfit_wins_over_a_missing_quantity() -> None:
    answer = compare_codes(NEED, replace(NEED, length_mm=None, top_width_mm=17.0))
    assert answer.fit_class is FitClass.DOES_NOT_FIT
    assert answer.measure == ()


def test_lengths_of_the_same_other_kind_can_be_compared() -> None:
    pitch = replace(NEED, length_kind=LengthKind.PITCH)
    assert compare_codes(pitch, pitch).fit_class is FitClass.SAME_SIZE


def test_missing_thickness_is_told_and_does_not_block() -> None:
    answer = compare_codes(NEED, replace(NEED, thickness_mm=None))
    assert answer.fit_class is FitClass.SAME_SIZE
    assert not answer.is_thickness_compared
    assert [finding.quantity for finding in answer.findings] == [
        "outer length",
        "top width",
        "included angle",
    ]


@pytest.mark.parametrize(
    ("more_mm", "fit_class"),
    [
        (0.0, FitClass.USABLE),
        (3.0, FitClass.DOES_NOT_FIT),
        (6.0, FitClass.CANNOT_TELL),
        (16.0, FitClass.DOES_NOT_FIT),
    ],
)
def test_another_thickness_lowers_the_class_by_one(more_mm: float, fit_class: FitClass) -> None:
    asked = replace(NEED, length_mm=743.0 + more_mm, thickness_mm=9.5)
    assert compare_codes(NEED, asked).fit_class is fit_class


@pytest.mark.parametrize(
    ("length", "limit", "fit_class"),
    [
        (744.0, 2.0, FitClass.SAME_SIZE),
        (746.0, 2.0, FitClass.USABLE),
        (750.0, 5.0, FitClass.CANNOT_TELL),
        (760.0, 15.0, FitClass.DOES_NOT_FIT),
    ],
)
def test_finding_shows_the_difference_and_the_limit_it_was_held_to(
    length: float, limit: float, fit_class: FitClass
) -> None:
    finding = compare_codes(NEED, replace(NEED, length_mm=length)).findings[0]
    assert (finding.quantity, finding.limit, finding.unit) == ("outer length", limit, "mm")
    assert finding.difference == pytest.approx(length - 743.0)
    assert finding.fit_class is fit_class


def test_limits_are_settings() -> None:
    asked = replace(NEED, length_mm=746.0)
    assert compare_codes(NEED, asked, CodeLimits(length_same_mm=3.0)).fit_class is FitClass.SAME_SIZE


def test_lengths_that_differ_by_two_pi_thickness_are_suspect() -> None:
    """An 8.5 mm belt is 53.4 mm shorter inside than outside."""
    answer = compare_codes(NEED, replace(NEED, length_mm=743.0 - 53.4))
    assert answer.is_length_kind_suspect
    assert not compare_codes(NEED, replace(NEED, length_mm=743.0 - 30.0)).is_length_kind_suspect
    thin = replace(NEED, thickness_mm=None)
    assert compare_codes(thin, replace(thin, length_mm=743.0 + 53.4, thickness_mm=8.5)).is_length_kind_suspect


@pytest.mark.parametrize(("change", "percent"), [({"length_mm": 748.0}, -4.5), ({"top_width_mm": 20.5}, 5.0)])
def test_rough_consequence_for_top_speed(change: dict[str, float], percent: float) -> None:
    """About 0.9 % per mm of length and 1 % per 0.1 mm of width, judgement of this project."""
    assert compare_codes(NEED, replace(NEED, **change)).top_speed_change_percent == pytest.approx(percent)


def test_no_consequence_without_both_sizes() -> None:
    assert compare_codes(NEED, replace(NEED, top_width_mm=None)).top_speed_change_percent is None
    assert compare_codes(NEED, replace(NEED, length_mm=None)).top_speed_change_percent is None


@given(st.floats(500.0, 1300.0), st.floats(12.0, 40.0), st.floats(22.0, 40.0))
def test_equal_codes_are_the_same_size(length: float, width: float, angle: float) -> None:
    code = BeltCode(length, width, angle, length_kind=LengthKind.OUTSIDE)
    assert compare_codes(code, code).fit_class is FitClass.SAME_SIZE
