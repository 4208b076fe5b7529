"""Which measurement leaves the fewest engines. Expected counts are worked out by hand beside each case."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.rules.feature import Candidate, FeatureValue, cannot_split
from kb.rules.measurement_question import Ease
from kb.rules.next_measurement import expected_remaining, format_value, rank_measurements
from kb.rules.tell_apart import compare_engines

Values = list[float | str]


def column(quantity: str, values_of_engine: dict[str, Values]) -> dict[str, list[FeatureValue]]:
    return {
        engine: [FeatureValue(quantity, value) for value in values]
        for engine, values in values_of_engine.items()
    }


@pytest.mark.parametrize(
    ("values_of_engine", "total", "expected"),
    [
        ({}, 3, 3.0),
        ({"a": [3.0], "b": [4.0]}, 2, 1.0),  # either count leaves one
        ({"a": [3.0], "b": [3.0]}, 2, 2.0),  # the same count leaves both
        ({"a": [3.0], "b": [4.0]}, 3, 2.0),  # the one without a record stays in both branches
        ({"a": [3.0, 4.0], "b": [4.0]}, 2, 1.75),  # a read as 3 leaves 1, as 4 leaves 2; b leaves 2
        ({"a": [3.0, 5.0], "b": [4.0]}, 2, 1.0),  # 4 lies in the gap between the two values of a
        ({"a": [3.0, 5.0], "b": [5.0], "c": [6.0]}, 3, (1.5 + 2 + 1) / 3),
        ({"a": ["air"], "b": ["Air"], "c": ["water"]}, 3, 5 / 3),
        ({"a": ["air"], "b": [3.0]}, 2, 2.0),  # a word can't be held against a number
        ({"a": ["air"], "b": [3.0], "c": [4.0]}, 3, (3 + 2 + 2) / 3),
    ],
)
def test_expected_count_is_worked_out_over_all_branches(
    values_of_engine: dict[str, Values], total: int, expected: float
) -> None:
    assert expected_remaining(column("stud_count", values_of_engine), total=total) == pytest.approx(expected)


def test_lengths_that_overlap_in_a_chain_are_counted_pair_by_pair() -> None:
    """400, 403, 406 mm with 2 mm tolerance: the ends can be split, the neighbours can't: (2 + 3 + 2) / 3."""
    lengths = column("case_length", {"a": [400.0], "b": [403.0], "c": [406.0]})
    assert expected_remaining(lengths, total=3) == pytest.approx(7 / 3)


def test_two_values_of_one_engine_that_overlap_leave_no_gap() -> None:
    lengths = column("case_length", {"a": [400.0, 403.0], "b": [401.0]})
    assert expected_remaining(lengths, total=2) == pytest.approx(2.0)


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.text("abcdefgh", min_size=1, max_size=2),
        st.lists(st.integers(90, 112).map(float), min_size=1, max_size=3),
        min_size=1,
        max_size=9,
    )
)
def test_sorted_count_equals_counting_every_pair(values_of_engine: dict[str, list[float]]) -> None:
    """Checked against comparing each value with each other value, around the step of tolerance at 100 mm."""
    lengths = column("case_length", {engine: list(values) for engine, values in values_of_engine.items()})
    by_pairs = sum(
        sum(
            any(cannot_split(value, other) for other in others)
            for value in values
            for others in lengths.values()
        )
        / len(values)
        for values in lengths.values()
    ) / len(lengths)
    assert expected_remaining(lengths, total=len(lengths)) == pytest.approx(by_pairs)


def records(*columns: dict[str, list[FeatureValue]]) -> dict[str, dict[str, list[FeatureValue]]]:
    found: dict[str, dict[str, list[FeatureValue]]] = {}
    for one in columns:
        for engine, values in one.items():
            found.setdefault(engine, {})[values[0].quantity] = values
    return found


def test_easy_measurement_goes_before_one_that_tells_as_much_with_the_cover_off() -> None:
    ranked = rank_measurements(
        records(
            column("belt_mark", {"a": ["x"], "b": ["y"]}),
            column("case_length", {"a": [400.0], "b": [450.0]}),
        )
    )
    assert [(row.quantity, row.ease) for row in ranked] == [
        ("case_length", Ease.COVER_ON),
        ("belt_mark", Ease.COVER_OFF),
    ]


def test_measurement_that_tells_far_more_goes_before_an_easy_one() -> None:
    """Sixteen engines: cover off leaves 1 (4 halvings for 3); cover on leaves 14.1 (0.18 halvings for 1)."""
    engines = [f"e{number}" for number in range(16)]
    ranked = rank_measurements(
        records(
            column("belt_mark", {engine: [f"mark {engine}"] for engine in engines}),
            column("cooling", {engine: ["water" if engine == "e0" else "air"] for engine in engines}),
        )
    )
    assert [row.quantity for row in ranked] == ["belt_mark", "cooling"]
    assert ranked[1].expected_remaining == pytest.approx((15 * 15 + 1) / 16)


def test_measurement_that_rules_nothing_out_is_not_named() -> None:
    assert rank_measurements(records(column("case_length", {"a": [400.0], "b": [401.0]}))) == ()


def test_no_more_measurements_than_the_limit() -> None:
    many = [column(f"mark_{number}", {"a": ["x"], "b": ["y"]}) for number in range(4)]
    assert [row.quantity for row in rank_measurements(records(*many), limit=2)] == ["mark_0", "mark_1"]


def test_splits_name_the_engines_that_each_value_leaves() -> None:
    lengths = column("case_length", {"a": [400.0], "b": [403.0], "c": [406.0]})
    everything = records(lengths) | {"d": {}}
    (measurement,) = rank_measurements(everything)
    assert measurement.splits == {"400": ("a",), "403": ("b",), "406": ("c",)}
    assert measurement.not_recorded == ("d",)
    assert measurement.question == "How long is the drive case?"


def test_asking_again_with_a_value_of_a_split_leaves_just_its_engines() -> None:
    lengths = column("case_length", {"a": [400.0, 410.0], "b": [401.5], "c": [403.0]})
    (measurement,) = rank_measurements(records(lengths))
    candidates = [Candidate(engine, tuple(values)) for engine, values in lengths.items()]
    left = {
        value: tuple(
            engine.engine for engine in compare_engines(candidates, {"case_length": float(value)}).possible
        )
        for value in measurement.splits
    }
    assert left == {"400": ("a", "b"), "401.5": ("a", "b", "c"), "403": ("b", "c"), "410": ("a",)}
    assert measurement.splits == left


def test_wheel_size_splits_by_its_printed_number_and_words_after_numbers() -> None:
    wheels: dict[str, list[FeatureValue]] = {
        "a": [FeatureValue("wheel_diameter", 10.0, unit="in", how="cover on: sidewall")],
        "b": [FeatureValue("wheel_diameter", 12.0, unit="in", how="cover on: sidewall")],
        "c": [FeatureValue("wheel_diameter", "Large", how="by eye")],
    }
    (measurement,) = rank_measurements(records(wheels))
    assert measurement.splits == {"10": ("a", "c"), "12": ("b", "c"), "Large": ("a", "b", "c")}
    assert measurement.unit == "in"
    assert measurement.how == "cover on: sidewall"


@pytest.mark.parametrize(("values", "branches"), [(50, 50), (51, 0)])
def test_more_than_fifty_branches_are_left_out(values: int, branches: int) -> None:
    counts = column("stud_count", {f"e{number}": [float(number)] for number in range(values)})
    (measurement,) = rank_measurements(records(counts))
    assert len(measurement.splits) == branches


def test_value_is_written_without_needless_zeros() -> None:
    assert [format_value(value) for value in (12.0, 0.1, 743.5, "air")] == ["12", "0.1", "743.5", "air"]
