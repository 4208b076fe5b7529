"""Bands and order of choice: judgement of this project. Marks La, Li: published German length marks."""

import pytest

from kb.errors import BadNotation
from kb.notation.belt import BeltReading, format_belt, list_belt_readings, parse_belt


def sizes(reading):
    return (reading.length_mm, reading.width_mm, reading.angle_deg, reading.height_mm)


def reason(text):
    with pytest.raises(BadNotation) as refusal:
        parse_belt(text)
    return refusal.value.reason


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("500-17", (500, 17, None, None)),
        ("1300-17", (1300, 17, None, None)),
        ("788-12", (788, 12, None, None)),
        ("788-40-30.5", (788, 30.5, 40, None)),
        ("788-17-22", (788, 17, 22, None)),
        ("788-17-40", (788, 17, 40, None)),
        ("788-17-5", (788, 17, None, 5)),
        ("788-17-11.9", (788, 17, None, 11.9)),
        ("788-28-8", (788, 28, None, 8)),
        ("788-8-28°", (788, None, 28, 8)),
        ("743-28°", (743, None, 28, None)),
        ("l788 w17 a28", (788, 17, 28, None)),
        ("l = 788 w17", (788, 17, None, None)),
        ("1000-W24-28", (1000, 24, 28, None)),
        ("1000 x 28 deg x 24", (1000, 24, 28, None)),
        ("28 x 8 x 900", (900, 28, None, 8)),
        ("788,17,28", (788, 17, 28, None)),
        ("788;17;28", (788, 17, 28, None)),
        ("788 mm, 17 mm, 28 degrees", (788, 17, 28, None)),
        ("788-I7-28", (788, 17, 28, None)),
    ],
)
def test_numbers_take_their_roles(text, expected):
    assert sizes(parse_belt(text)) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("499-17", "out_of_range"),
        ("1301-17", "out_of_range"),
        ("400-17", "out_of_range"),
        ("399-17", "no_length"),
        ("L399-17", "out_of_range"),
        ("W788 17", "out_of_range"),
        ("788-40.1", "out_of_range"),
        ("788-17-21", "out_of_range"),
        ("788-17-41", "out_of_range"),
        ("788-17-28.5", "out_of_range"),
        ("788-17-4.9", "out_of_range"),
        ("788-17-8-9", "too_many_numbers"),
        ("788-17-28-30", "too_many_numbers"),
        ("788-8", "too_few_numbers"),
        ("788La", "too_few_numbers"),
        ("788 17°", "out_of_range"),
        ('31" 0.7', "unknown_unit"),
        ("31 in 0.7", "unknown_unit"),
        ("788-17~18", "multiple_values"),
        ("788 17 to 18", "multiple_values"),
        ("788--17-28", "not_recognised"),
        ("-788-17-28", "not_recognised"),
        ("788-17-28 belt", "not_recognised"),
        ("788La17", "not_recognised"),
        ("B85", "not_recognised"),
        ("A44", "not_recognised"),
        ("3PK1920", "not_recognised"),
        ("12345", "too_few_numbers"),
        ("W17° 788", "contradictory"),
        ("788 La Lp 17", "contradictory"),
        ("788La-17-28 Lp", "two_lengths"),
        ("788-17-La 28", "two_lengths"),
        ("17-28 La", "out_of_range"),
        ("1,000-24-28", "ambiguous_separator"),
    ],
)
def test_what_is_no_belt_is_refused_with_its_reason(text, expected):
    assert reason(text) == expected


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("788La-17", "outside"),
        ("788-17-28 La", "outside"),
        ("788 x 17 x 28 Lp", "pitch"),
        ("788-17-28Li", "inside"),
        ("788La-17-28 La", "outside"),
        ("788 Lp 17", "pitch"),
        ("788Lw-17", "pitch"),
        ("Li=788 17", "inside"),
        ("788-17", None),
    ],
)
def test_kind_of_length_comes_from_its_mark_only(text, kind):
    assert parse_belt(text).length_kind == kind


def test_two_small_numbers_that_fit_both_ways_give_two_readings():
    first, second = list_belt_readings("1000-24-28")
    assert sizes(first) == (1000, 24, 28, None)
    assert sizes(second) == (1000, 28, 24, None)
    assert first.flags == {"ambiguous_width_angle"}
    assert second.flags == {"ambiguous_width_angle", "reordered"}
    assert first.is_doubtful


def test_one_small_number_may_be_the_angle_of_a_belt_without_width():
    assert [sizes(r) for r in list_belt_readings("743-28")] == [(743, 28, None, None), (743, None, 28, None)]


@pytest.mark.parametrize("text", ["788-17-28", "743-28-8", "743-W28", "743-28.5", "743-28°", "1000-24-A28"])
def test_one_reading_where_the_text_is_clear(text):
    (reading,) = list_belt_readings(text)
    assert not reading.is_doubtful
    assert reading.raw == text


@pytest.mark.parametrize("text", ["17-788", "788-28-17", "28-8-900", "788-28-17-8"])
def test_another_order_is_flagged(text):
    assert "reordered" in parse_belt(text).flags


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("28° x 17,5 x 788Li", "788Li-17.5-28"),
        ("900 8 28", "900-28-8"),
        ("743-28°", "743-28°"),
        ("743 8 28°", "743-8-28°"),
    ],
)
def test_belt_has_one_spelling(text, expected):
    assert format_belt(parse_belt(text)) == expected
    assert format_belt(parse_belt(expected)) == expected


def test_reading_made_by_hand_survives_its_spelling():
    reading = BeltReading(length_mm=1000, width_mm=28, angle_deg=24)
    assert sizes(parse_belt(format_belt(reading))) == (1000, 28, 24, None)


def test_refusal_says_what_is_wrong_and_shows_a_good_one():
    with pytest.raises(BadNotation) as refusal:
        parse_belt("17-28")
    assert str(refusal.value) == (
        "Belt size '17-28' has no number of 400 or more, so the length is missing; "
        "write LENGTH-WIDTH-ANGLE in mm and degrees, for example 788-17-28."
    )
