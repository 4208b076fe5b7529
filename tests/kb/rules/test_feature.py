"""Agreement of a reading with a recorded value; tolerances as the project sets them."""

import pytest

from kb.rules.feature import FeatureValue, agrees, cannot_split, tolerance_of


@pytest.mark.parametrize(
    ("asked", "expected"),
    [(397.9, False), (398.0, True), (400.0, True), (402.0, True), (402.1, False), ("long", None)],
)
def test_length_over_100_mm_agrees_within_2_mm(asked: float | str, expected: bool | None) -> None:
    assert agrees(FeatureValue("case_length", 400.0, unit="mm"), asked) is expected


@pytest.mark.parametrize(
    ("asked", "expected"),
    [("air", True), (" AIR ", True), ("forced air", False), (4.0, None)],
)
def test_word_agrees_only_with_itself(asked: float | str, expected: bool | None) -> None:
    assert agrees(FeatureValue("cooling", "Air"), asked) is expected


@pytest.mark.parametrize(("count", "expected"), [(3.0, True), (4.0, False)])
def test_count_agrees_only_exactly(count: float, expected: bool) -> None:
    assert agrees(FeatureValue("stud_count", 3.0), count) is expected


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (400.0, 403.9, True),
        (400.0, 404.0, False),
        (400.0, 400.0, True),
        (99.0, 101.4, True),
        (99.0, 101.6, False),
        ("air", "Air", True),
        ("air", "water", False),
        ("long", 400.0, True),
        (400.0, "long", True),
    ],
)
def test_values_closer_than_both_tolerances_cannot_be_split(
    first: float | str, second: float | str, expected: bool
) -> None:
    one, other = FeatureValue("case_length", first), FeatureValue("case_length", second)
    assert cannot_split(one, other) is expected


def test_equal_counts_cannot_be_split_and_unequal_can() -> None:
    three = FeatureValue("stud_count", 3.0)
    assert cannot_split(three, FeatureValue("stud_count", 3.0))
    assert not cannot_split(three, FeatureValue("stud_count", 4.0))


def test_word_has_no_tolerance() -> None:
    assert tolerance_of(FeatureValue("case_length", "long")) == 0.0
