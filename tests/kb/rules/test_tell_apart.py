"""Telling engines apart. Engines are invented; tolerances as the project sets them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.rules.feature import Candidate, FeatureValue
from kb.rules.quantity import find_tolerance_rule
from kb.rules.tell_apart import compare_engines

SHORT = Candidate(
    "wren-50-s",
    (
        FeatureValue("case_length", 400.0, unit="mm", source="manual-1"),
        FeatureValue("wheel_diameter", 10.0, unit="in", source="manual-1"),
        FeatureValue("cooling", "air", source="manual-1"),
    ),
)
LONG = Candidate(
    "wren-50-l",
    (
        FeatureValue("case_length_mm", 435.0, unit="mm", source="manual-1"),
        FeatureValue("wheel_diameter", 12.0, unit="in", source="manual-1"),
        FeatureValue("cooling", "air", source="manual-1"),
    ),
)
BARE = Candidate("wren-50-x")


def names(rows: tuple[object, ...]) -> list[str]:
    return [row.engine for row in rows]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("length", "possible"),
    [(397.9, []), (398.0, ["wren-50-s"]), (402.0, ["wren-50-s"]), (402.1, []), (433.0, ["wren-50-l"])],
)
def test_length_rules_out_what_lies_beyond_2_mm(length: float, possible: list[str]) -> None:
    assert names(compare_engines([SHORT, LONG], {"case_length": length}).possible) == possible


def test_ruled_out_engine_shows_both_figures_and_the_source() -> None:
    answer = compare_engines([SHORT, LONG], {"Case length (mm)": 400.5, "wheel_diameter": 10.0})
    (out,) = answer.ruled_out
    assert (out.engine, out.by, out.value, out.asked) == ("wren-50-l", "case_length", 435.0, 400.5)
    assert (out.tolerance, out.unit, out.source) == (2.0, "mm", "manual-1")
    assert out.all_by == ("case_length", "wheel_diameter")


def test_engine_without_a_record_stays_possible_and_comes_last() -> None:
    answer = compare_engines([BARE, SHORT], {"cooling": "AIR"})
    assert [(row.engine, row.agrees, row.unknown) for row in answer.possible] == [
        ("wren-50-s", ("cooling",), ()),
        ("wren-50-x", (), ("cooling",)),
    ]


def test_word_rules_out_another_word() -> None:
    (out,) = compare_engines([SHORT], {"cooling": "water"}).ruled_out
    assert (out.by, out.value, out.asked, out.tolerance) == ("cooling", "air", "water", 0.0)


def test_word_against_a_number_is_unknown_not_against() -> None:
    (row,) = compare_engines([SHORT], {"case_length": "long"}).possible
    assert row.unknown == ("case_length",)


@pytest.mark.parametrize(("length", "possible"), [(400.0, True), (410.0, True), (405.0, False)])
def test_one_of_several_sources_is_enough_to_stay(length: float, possible: bool) -> None:
    twice = Candidate(
        "lark-80",
        (
            FeatureValue("case_length", 400.0, source="manual-1"),
            FeatureValue("case_length", 410.0, source="bench"),
        ),
    )
    assert bool(compare_engines([twice], {"case_length": length}).possible) is possible


def test_ruled_out_shows_the_nearest_of_several_values() -> None:
    twice = Candidate("lark-80", (FeatureValue("case_length", 400.0), FeatureValue("case_length", 410.0)))
    assert compare_engines([twice], {"case_length": 413.0}).ruled_out[0].value == 410.0


def test_word_recorded_beside_numbers_keeps_the_engine() -> None:
    both = Candidate("lark-80", (FeatureValue("case_length", 400.0), FeatureValue("case_length", "long")))
    assert names(compare_engines([both], {"case_length": 500.0}).possible) == ["lark-80"]


def test_row_that_states_its_tolerance_is_held_to_it() -> None:
    strict = Candidate("lark-80", (FeatureValue("case_length", 400.0, unit="mm", how="jig, ±0.5 mm"),))
    assert names(compare_engines([strict], {"case_length": 400.5}).possible) == ["lark-80"]
    assert names(compare_engines([strict], {"case_length": 400.6}).possible) == []


def test_next_measurement_skips_what_was_measured() -> None:
    answer = compare_engines([SHORT, LONG, BARE], {"cooling": "air"})
    assert [row.quantity for row in answer.measure_next] == ["case_length", "wheel_diameter"]
    assert answer.measure_next[1].splits == {"10": ("wren-50-s",), "12": ("wren-50-l",)}
    assert answer.measure_next[1].not_recorded == ("wren-50-x",)


def test_single_engine_needs_no_measurement() -> None:
    assert compare_engines([SHORT, LONG], {"wheel_diameter": 12.0}).measure_next == ()


def test_reading_that_nobody_recorded_is_named() -> None:
    (note,) = compare_engines([SHORT], {"stud_count": 3.0}).notes
    assert note.startswith(
        "Nothing is recorded for 'stud_count', so this reading rules nothing out; none is near"
    )
    (note,) = compare_engines([SHORT], {"wheel": 10.0}).notes
    assert note.endswith("rules nothing out; the nearest spelling is 'wheel_diameter'.")


def test_no_engine_left_asks_to_check_the_readings() -> None:
    (note,) = compare_engines([SHORT, LONG], {"case_length": 500.0}).notes
    assert note.startswith("No engine agrees with every reading")


def test_no_candidates_give_an_empty_answer() -> None:
    answer = compare_engines([], {})
    assert (answer.possible, answer.ruled_out, answer.notes, answer.needs_differ) == ((), (), (), None)


TWIN_A = Candidate("teal-50-a", (FeatureValue("case_length", 400.0),))
TWIN_B = Candidate("teal-50-b", (FeatureValue("case_length", 403.0),))


@pytest.mark.parametrize(
    ("needs", "matters", "words"),
    [
        (None, None, "can't be told apart by what is recorded: they agree in all"),
        ({"teal-50-a": {"top_width": 17.0}, "teal-50-b": {"top_width": 17.0}}, False, "does not matter"),
        ({"teal-50-a": {"top_width": 17.0}, "teal-50-b": {"top_width": 18.0}}, True, "It matters"),
        ({"teal-50-a": {"form": "open"}, "teal-50-b": {"form": "Open"}}, False, "does not matter"),
        ({"teal-50-a": {"form": "open"}, "teal-50-b": {"form": "shielded"}}, True, "It matters"),
        ({"teal-50-a": {"top_width": 17.0}}, None, "is not known"),
        ({"teal-50-a": {"top_width": 17.0}, "teal-50-b": {"top_width": None}}, None, "is not known"),
        ({}, None, "is not known"),
    ],
)
def test_twins_are_named_and_whether_it_matters(
    needs: dict[str, dict[str, float | str | None]] | None, matters: bool | None, words: str
) -> None:
    answer = compare_engines([TWIN_A, TWIN_B], {}, needs=needs)
    (pair,) = answer.inseparable
    assert pair.engines == ("teal-50-a", "teal-50-b")
    assert pair.shared == ("case_length",)
    assert pair.matters is matters
    assert answer.needs_differ is matters
    assert words in pair.text


def test_engines_with_nothing_left_in_common_are_named_as_such() -> None:
    (pair,) = compare_engines([SHORT, BARE], {}).inseparable
    assert "nothing left to measure that is recorded for both" in pair.text


def test_a_known_difference_of_needs_wins_over_a_missing_need() -> None:
    needs: dict[str, dict[str, float | str | None]] = {
        "wren-50-s": {"length": 669.0, "top_width": None},
        "wren-50-l": {"length": 743.0},
    }
    assert compare_engines([SHORT, LONG, BARE], {}, needs=needs).needs_differ is True


@pytest.mark.parametrize(("count", "pairs"), [(40, 780), (41, 0)])
def test_pairs_are_listed_up_to_forty_engines(count: int, pairs: int) -> None:
    """40 · 39 / 2 = 780 pairs."""
    twins = [Candidate(f"teal-{number}", (FeatureValue("stud_count", 3.0),)) for number in range(count)]
    assert len(compare_engines(twins, {}).inseparable) == pairs


numbers = st.floats(20.0, 800.0, allow_nan=False)
quantities = st.sampled_from(["case_length", "wheel_diameter", "stud_count", "cooling"])
rows = st.lists(
    st.builds(
        FeatureValue,
        quantities,
        st.one_of(numbers, st.sampled_from(["air", "water"])),
        how=st.sampled_from([None, "±1 mm", "± 2 %"]),
    ),
    max_size=6,
)


@settings(max_examples=200, deadline=None)
@given(rows, st.lists(st.floats(-1.0, 1.0), min_size=6, max_size=6))
def test_true_engine_is_never_ruled_out_by_readings_within_tolerance(
    features: list[FeatureValue], shares: list[float]
) -> None:
    """Each reading lies within the tolerance of one of the true engine's own values."""
    readings: dict[str, float | str] = {}
    for feature, share in zip(features, shares, strict=False):
        if isinstance(feature.value, str):
            readings[feature.quantity] = feature.value.upper()
            continue
        rule = find_tolerance_rule(feature.quantity, unit=feature.unit, how=feature.how)
        readings[feature.quantity] = feature.value + share * rule.tolerance_at(feature.value)
    answer = compare_engines([Candidate("true", tuple(features)), SHORT, LONG], readings)
    assert "true" in names(answer.possible)
